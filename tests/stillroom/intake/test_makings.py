"""Amounts of so many makings: 'half batch' is that share of what a making of the spec gives."""

from __future__ import annotations

import pytest

from house_builder import current, good, make_house, put, reasons, take_in

pytestmark = pytest.mark.usefixtures("rows_alone")

TEA = {"spec": "Kelp Tea", "version": "1", "kind": "preparation", "yield_amount": "1.5", "yield_unit": "l"}
BOOK = """\
preparation,made_on,made_amount
Kelp Tea,2026-03-02,half batch
Kelp Tea,2026-03-03,2 batches
kelp tea,2026-03-04,1 l
"""
MADE = ("made_on", "made_amount", "made_unit")


def made(house):
    return [(str(day), amount, unit) for day, amount, unit in sorted(current(house, "batch", *MADE))]


def test_a_share_waits_until_the_spec_is_there_and_follows_what_it_says(tmp_path):
    house = make_house(tmp_path, batch=BOOK)
    take_in(house)
    assert made(house) == [("2026-03-04", 1.0, "l")]
    assert [(row, value) for row, _, _, value in reasons(house)] == [(2, "0.5 batch"), (3, "2 batch")]
    assert "no spec says what a making of Kelp Tea gives" in reasons(house)[0][2]
    put(house.folder, "spec/tea.csv", [TEA])
    take_in(house)
    assert made(house) == [("2026-03-02", 0.75, "l"), ("2026-03-03", 3.0, "l"), ("2026-03-04", 1.0, "l")]
    put(house.folder, "spec/tea.csv", [{**TEA, "yield_amount": "1200", "yield_unit": "ml"}])
    take_in(house)
    assert made(house)[:2] == [("2026-03-02", 600.0, "ml"), ("2026-03-03", 2400.0, "ml")]
    assert [one.status for one in take_in(house)] == ["unchanged", "unchanged"]


def test_of_versions_that_give_other_amounts_the_one_that_was_in_service_is_meant(tmp_path):
    first = {**TEA, "in_service_from": "2026-01-01", "in_service_until": "2026-03-02"}
    second = {**TEA, "version": "2", "yield_amount": "2", "in_service_from": "2026-03-03"}
    house = make_house(tmp_path, batch=BOOK, spec=[first, second])
    take_in(house)
    assert made(house)[:2] == [("2026-03-02", 0.75, "l"), ("2026-03-03", 4.0, "l")]


def test_which_of_two_versions_was_made_is_asked_and_not_guessed(tmp_path):
    house = make_house(tmp_path, batch=BOOK, spec=[TEA, {**TEA, "version": "2", "yield_amount": "2"}])
    take_in(house)
    assert made(house) == [("2026-03-04", 1.0, "l")]
    assert "gives 1.5 l or 2 l: write the version, or the amount" in reasons(house)[0][2]
    second = "preparation,version,made_on,made_amount\nKelp Tea,2,2026-03-02,half batch\n"
    put(house.folder, "batch/batch.csv", second)
    take_in(house)
    assert made(house) == [("2026-03-02", 1.0, "l")]


def test_a_share_of_an_event_is_of_its_own_batch(tmp_path):
    batch = good("batch", made_amount="600", made_unit="ml")
    event = good("batch_event", event="poured away", amount="½ batch")
    house = make_house(tmp_path, batch=[batch], batch_event=[event])
    take_in(house)
    assert current(house, "batch_event", "amount", "unit") == [(300.0, "ml")]
    put(house.folder, "batch/batch.csv", [{**batch, "made_amount": "1", "made_unit": "l"}])
    take_in(house)
    assert current(house, "batch_event", "amount", "unit") == [(0.5, "l")]


@pytest.mark.parametrize("table", ["spec", "spec_line", "ingredient"])
def test_elsewhere_a_share_of_a_making_is_no_amount(tmp_path, table):
    amount = {"spec": "yield_amount", "spec_line": "amount", "ingredient": "pack_amount"}[table]
    unit = {"spec": "yield_unit", "spec_line": "unit", "ingredient": "pack_unit"}[table]
    house = make_house(tmp_path, **{table: [good(table, **{amount: "2 batches", unit: ""})]})
    take_in(house)
    said = [problem for _, column, problem, _ in reasons(house) if column == amount]
    assert said == ["is so many makings or packs: write how much that is"]
