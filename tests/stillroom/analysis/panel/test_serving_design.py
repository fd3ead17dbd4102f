"""Serving designs: the properties that define them, as Williams (1949) and Cochran & Cox state them."""

from __future__ import annotations

from collections import Counter
from itertools import permutations

import numpy as np
import pytest

from stillroom.analysis.panel.block_designs import balanced_blocks
from stillroom.analysis.panel.serving_design import TEST_ORDERS, balance, orders_of_test, serving_orders, williams


@pytest.mark.parametrize("samples", range(3, 11))
def test_williams_design(samples: int) -> None:
    orders = williams(samples)
    times = 1 if samples % 2 == 0 else 2
    assert len(orders) == samples * times
    assert all(sorted(order) == list(range(samples)) for order in orders)
    assert balance(orders, samples) | {"together": None} == {
        "position": (times, times),
        "after": (times, times),
        "together": None,
    }


def test_balance_sees_an_order_that_is_not_balanced() -> None:
    assert balance([(0, 1, 2), (1, 2, 0), (2, 0, 1)], 3) == {"position": (1, 1), "after": (0, 2), "together": (3, 3)}


def test_a_published_design_of_four_is_balanced() -> None:
    design = [tuple("ABCD".index(letter) for letter in order) for order in ("ABDC", "BCAD", "CDBA", "DACB")]
    assert balance(design, 4)["after"] == balance(design, 4)["position"] == (1, 1)


# (samples, size, blocks, times each, meetings of a pair): Cochran & Cox, plans of chapter 11, from memory.
CATALOGUE = [
    (4, 2, 6, 3, 1), (5, 3, 10, 6, 3), (6, 3, 10, 5, 2), (7, 3, 7, 3, 1), (9, 3, 12, 4, 1), (13, 4, 13, 4, 1),
    (6, 4, 15, 10, 6), (8, 4, 14, 7, 3), (9, 4, 18, 8, 3), (10, 3, 30, 9, 2), (10, 4, 15, 6, 2), (10, 5, 18, 9, 4),
    (10, 6, 15, 9, 5), (11, 5, 11, 5, 2), (12, 6, 22, 11, 5),
]  # fmt: skip


@pytest.mark.parametrize(("samples", "size", "blocks", "times", "together"), CATALOGUE)
def test_balanced_incomplete_blocks(samples: int, size: int, blocks: int, times: int, together: int) -> None:
    design = balanced_blocks(samples, size)
    assert len(design) == blocks
    assert all(len(set(block)) == size for block in design)
    assert set(Counter(sample for block in design for sample in block).values()) == {times}
    assert balance(design, samples)["together"] == (together, together)


def test_whole_williams_designs_are_exact_for_their_number_of_panelists() -> None:
    # Six samples, 24 assessors: every count is 4.
    orders = serving_orders(6, 24, 6, np.random.default_rng(1))
    assert balance(orders, 6) == {"position": (4, 4), "after": (4, 4), "together": (24, 24)}


@pytest.mark.parametrize(("samples", "panelists"), [(2, 9), (3, 7), (4, 13), (5, 14)])
def test_any_number_of_panelists_is_as_even_as_it_can_be(samples: int, panelists: int) -> None:
    orders = serving_orders(samples, panelists, 6, np.random.default_rng(2))
    least, most = balance(orders, samples)["position"]
    assert most - least <= 1
    assert len(orders) == panelists


@pytest.mark.parametrize(("samples", "panelists"), [(8, 28), (8, 20), (9, 24), (15, 20)])
def test_more_samples_than_one_should_taste_go_into_blocks(samples: int, panelists: int) -> None:
    orders = serving_orders(samples, panelists, 6, np.random.default_rng(3))
    assert all(len(set(order)) == 6 for order in orders)
    even = balance(orders, samples)
    assert even["position"][1] - even["position"][0] <= 1
    assert even["together"][1] - even["together"][0] <= (0 if panelists == 28 else 2)


def test_the_same_seed_draws_the_same_orders() -> None:
    first, again, other = (serving_orders(5, 11, 6, np.random.default_rng(seed)) for seed in (4, 4, 5))
    assert first == again
    assert first != other


def test_triangle_orders_of_twelve_assessors() -> None:
    # FAO Fisheries Technical Paper 348, appendix B: each of the six orders twice, 18 samples of A and of B.
    orders = orders_of_test("triangle", 12, np.random.default_rng(5))
    assert Counter(orders) == dict.fromkeys(("ABB", "AAB", "ABA", "BAA", "BBA", "BAB"), 2)
    assert "".join(orders).count("A") == 18


def test_orders_of_the_tests_are_all_there_are() -> None:
    assert set(TEST_ORDERS["triangle"]) == {"".join(p) for letters in ("AAB", "ABB") for p in permutations(letters)}
    fives = {"".join(p) for letters in ("AABBB", "BBAAA") for p in permutations(letters)}
    assert sorted(TEST_ORDERS["two-out-of-five"]) == sorted(fives)


@pytest.mark.parametrize("method", TEST_ORDERS)
def test_orders_of_a_test_differ_by_at_most_one_in_how_often_they_are_served(method: str) -> None:
    counts = Counter(orders_of_test(method, 31, np.random.default_rng(6)))
    assert sum(counts.values()) == 31
    often = [counts[order] for order in TEST_ORDERS[method]]
    assert max(often) - min(often) <= 1


@pytest.mark.parametrize(("samples", "panelists"), [(3, 5), (5, 7), (5, 12), (5, 13), (5, 15), (5, 25), (7, 21)])
def test_odd_numbers_of_samples_are_as_even_as_an_integer_programme_makes_them(samples: int, panelists: int) -> None:
    spans = balance(serving_orders(samples, panelists, samples, np.random.default_rng(3)), samples)
    for what, each in (("position", samples * samples), ("after", samples * (samples - 1))):
        served = panelists * (samples if what == "position" else samples - 1)
        assert spans[what] == (served // each, -(-served // each))
