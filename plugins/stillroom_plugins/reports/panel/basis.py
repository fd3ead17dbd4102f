"""What a verdict of a panel rests on: in plain words for the evidence, with tests and p-values for the statistics."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import polars as pl

from stillroom.analysis.panel.verdicts import ALPHA
from stillroom.words import counted, number, p_value
from stillroom_plugins.reports.panel.verdict_words import loser, points, winner

Row = dict[str, Any]


def test_of(row: Row, tests: pl.DataFrame) -> Row:
    """The test that a difference belongs to."""
    return tests.filter(
        (pl.col("spec") == row["spec"])
        & (pl.col("attribute") == row["attribute"])
        & (pl.col("sessions") == row["sessions"])
    ).row(0, named=True)


def evidence(row: Row, test: Row, rows: Sequence[Row] = ()) -> str:
    """Counts, intervals and what was assumed; `rows`: the pairs that are told, the first of them `row`."""
    sessions = len(test["sessions"].split("; "))
    parts = [
        f"{row['attribute']}: {counted(test['scores'], 'score')} by {counted(test['panelists'], 'panelist')} "
        f"in {counted(sessions, 'session')}",
        *(_interval(one) for one in rows if one["low"] is not None),
        *_counts(row, test),
        *_order(test),
        *_looks(row),
        *_across(row),
    ]
    if row["never_met"]:
        parts.append("these two never met in one session and are compared only through versions they share")
    return "; ".join(parts)


def statistics(row: Row, test: Row, tests: pl.DataFrame, rows: Sequence[Row] = ()) -> str:
    """Models, corrections and p-values."""
    parts = [*_rule(row, test, tests)] if row["doubt"] is None else []
    parts += [
        f"{winner(one)} over {loser(one)} {points(abs(one['difference']))}, {p_value(one['p_all'])}"
        for one in rows
        if one["p_all"] is not None
    ]
    if row["exact_p"] is not None:
        parts.append(f"exact sign-flip test {p_value(row['exact_p'])}, for {winner(row)} over {loser(row)} alone")
    if test["first_glass"] is not None:
        parts.append(f"first glass {points(test['first_glass'])}, {p_value(test['first_glass_p'])}")
    if test["rank_p"] is not None:
        left_out = f" without {test['rank_left_out']}, who tasted one version only" if test["rank_left_out"] else ""
        parts.append(f"{test['rank_method']} rank test {p_value(test['rank_p'])}{left_out}")
    return "; ".join(parts)


def _interval(row: Row) -> str:
    sign = 1 if row["difference"] > 0 else -1
    low, high = sorted((sign * row["low"], sign * row["high"]))
    level = number(100 * (1 - row["level"]), 0 if row["level"] > 0.0499 else 1 if row["level"] > 0.001 else 2)
    size = points(abs(row["difference"]))
    # An end that is written as nought hides on which side of it it lies.
    decimals = 1 if abs(low) >= 0.05 and abs(high) >= 0.05 else 2
    ends = f"{number(low, decimals)} to {number(high, decimals)}"
    return f"{winner(row)} over {loser(row)} {size}, {level} % interval {ends}"


def _counts(row: Row, test: Row) -> Iterator[str]:
    if row["exact_p"] is None:
        return
    up, down = row["scored_higher"], row["scored_lower"]
    more, fewer = (up, down) if row["difference"] > 0 else (down, up)
    who = f"{more} of {row['tasted_both']}"
    yield f"{who} gave version {winner(row)} more points than version {loser(row)}, {fewer} fewer"
    if test["smallest_exact_p"] > ALPHA:
        chance = number(100 * test["smallest_exact_p"], 1)
        yield (
            f"{counted(test['panelists'], 'taster')} are too few for the exact test ever to reach 5 %: even if all "
            f"agree, chance alone does that in {chance} % of cases"
        )


def _order(test: Row) -> Iterator[str]:
    if test["first_glass"] is not None:
        gets = f"what the first glass gets ({points(test['first_glass'])})"
        yield f"{gets} is taken out" if test["first_glass_taken_out"] else f"{gets} cancels, for the orders were even"
    elif test["positions_given"] < 1:
        known = "not all" if test["positions_given"] else "no"
        yield f"{known} serving positions were given, so what a first glass gets is not taken out"


def _looks(row: Row) -> Iterator[str]:
    if row["doubt"] is not None:
        return
    if row["looked_again"]:
        yield (
            f"looked at again after {counted(row['sittings'], 'sitting')} that were not planned beforehand, so the "
            "interval is one that holds whenever one looks"
        )
    elif row["level"] < ALPHA:
        yield f"after {row['sittings']} of {counted(row['planned'], 'planned sitting')}"


def _across(row: Row) -> Iterator[str]:
    """Where the interval of the pair alone would call it clear, and all that was asked does not."""
    if row["low"] is not None and row["verdict"] == "cannot tell" and not row["low"] <= 0 <= row["high"]:
        yield "not clear once all that was asked is allowed for"


def _rule(row: Row, test: Row, tests: pl.DataFrame) -> Iterator[str]:
    if test["method"] is None:
        yield "all agree in the steps between versions, so the exact test decides"
        return
    corrected = f"{row['correction']} within the attribute"
    if not row["primary"]:
        others = tests.filter((pl.col("spec") == row["spec"]) & ~pl.col("primary") & pl.col("f").is_not_null())
        corrected += f", Holm over {counted(others['attribute'].n_unique(), 'attribute')}"
    if row["looked_again"]:
        corrected = "e-value of a normal effect (Lai 1976), Bonferroni within the attribute"
    elif row["level"] < ALPHA:
        corrected += f", held against {number(100 * row['level'], 2)} % (Lan & DeMets 1983)"
    yield f"{test['method']}, {corrected}"
