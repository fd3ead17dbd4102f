"""Difference and preference tests as they were answered: counted by pair of versions and method, and read."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.trials.a_not_a import recognised
from stillroom.analysis.trials.discrimination import (
    GUESSING,
    answers_that_hold,
    discriminators,
    preference_p,
    right_answers_needed,
    right_answers_p,
    right_share_limits,
    similarity_p,
)
from stillroom.analysis.trials.repeats import worth_of
from stillroom.analysis.trials.thurstone import METHODS, d_prime

ALPHA: Final = 0.05
PREFERENCE: Final = "paired-preference"
A_NOT_A: Final = "A-not-A"
ALIKE_BELOW: Final = 0.3
"""Share of discriminators below which versions count as alike unless the settings say otherwise: medium in ISO 4120."""
DOUBTFUL: Final = 0.01
"""Chance of so few right answers by guessing alone, below which the answers themselves are in doubt."""

DIFFERENCE_TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "older": pl.Int64, "newer": pl.Int64, "method": pl.String, "sessions": pl.Int64,
        "panelists": pl.Int64, "answers": pl.Int64, "worth": pl.Float64, "correlation": pl.Float64,
        "right": pl.Int64, "right_needed": pl.Int64, "p": pl.Float64,
        "noticing": pl.Float64, "low": pl.Float64, "high": pl.Float64, "wald_low": pl.Float64, "wald_high": pl.Float64,
        "d_prime": pl.Float64, "d_se": pl.Float64, "d_low": pl.Float64, "d_high": pl.Float64,
        "similarity_p": pl.Float64, "so_few_p": pl.Float64, "answers_for_alike": pl.Int64, "verdict": pl.String,
    }
)  # fmt: skip
PREFERENCE_TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "older": pl.Int64, "newer": pl.Int64, "sessions": pl.Int64, "panelists": pl.Int64,
        "prefer_newer": pl.Int64, "prefer_older": pl.Int64, "no_preference": pl.Int64, "worth": pl.Float64,
        "correlation": pl.Float64, "share": pl.Float64,
        "low": pl.Float64, "high": pl.Float64, "p": pl.Float64, "verdict": pl.String,
    }
)  # fmt: skip


def difference_tests(trials: pl.DataFrame, alike_below: float = ALIKE_BELOW) -> pl.DataFrame:
    """Every difference test, sessions joined; `trials` as the table trial, result as `DIFFERENCE_TESTS`.

    p: one-sided exact binomial against guessing; so_few_p: its other side, the chance of so few right by guessing.
    noticing: share of discriminators with the exact limits that go with those tests (and the normal ones of ISO 4120).
    worth: what the answers are worth in answers of people of their own, if some gave several. verdict: 'different',
    'alike' (surely less than `alike_below` notice), 'in doubt' (fewer right than by guessing) or 'cannot tell'.
    An A-not-A test has no share of discriminators, and is never alike.
    """
    if "given" not in trials.columns:
        trials = trials.with_columns(given=pl.lit(None, pl.String))
    answered = _by_pair(trials.filter((pl.col("method") != PREFERENCE) & pl.col("correct").is_not_null()))
    rows = []
    for (spec, older, newer, method), group in answered:
        read = _recognised(group) if method == A_NOT_A else _read(group, str(method), alike_below)
        rows.append({"spec": spec, "older": older, "newer": newer, "method": method, **_counted(group)} | read)
    return pl.DataFrame(rows, schema=DIFFERENCE_TESTS)


def preference_tests(trials: pl.DataFrame) -> pl.DataFrame:
    """Every preference test, sessions joined; frame `PREFERENCE_TESTS`.

    share: of those with a preference, who prefer the newer version; exact interval and two-sided exact p. Answers
    without a preference are counted and left out of both (common practice).
    """
    answered = _by_pair(trials.filter((pl.col("method") == PREFERENCE) & pl.col("chosen").is_not_null()))
    rows = []
    for (spec, older, newer, _), group in answered:
        decided = group.filter(pl.col("wins").is_not_null())
        newer_wins = int((decided["wins"] == newer).sum())
        row = {"spec": spec, "older": older, "newer": newer, **_counted(group)}
        row |= {"prefer_newer": newer_wins, "prefer_older": decided.height - newer_wins}
        row |= {"no_preference": group.height - decided.height, "verdict": "cannot tell"}
        if decided.height:
            worth, correlation = _worth(decided, pl.col("wins") == newer)
            share = newer_wins / decided.height
            low, high = right_share_limits(share * worth, worth, level=0.95)
            p = preference_p(share * worth, worth)
            row |= {"worth": worth, "correlation": correlation, "share": share, "low": low, "high": high, "p": p}
            if p <= ALPHA:
                row["verdict"] = "newer preferred" if share > 0.5 else "older preferred"
        rows.append(row)
    return pl.DataFrame(rows, schema=PREFERENCE_TESTS)


def _worth(group: pl.DataFrame, right: pl.Expr) -> tuple[float, float]:
    each = group.group_by("panelist").agg(right.sum().alias("right"), pl.len().alias("answers"))
    found = worth_of(each["right"].to_list(), each["answers"].to_list())
    return found.answers, found.correlation


def _by_pair(trials: pl.DataFrame) -> list[tuple[tuple[Any, ...], pl.DataFrame]]:
    """The answers by spec, older and newer version and method, whichever of the two was called a."""
    turned = trials.with_columns(
        older=pl.min_horizontal("version_a", "version_b"),
        newer=pl.max_horizontal("version_a", "version_b"),
        wins=pl.when(pl.col("chosen") == "a").then("version_a").when(pl.col("chosen") == "b").then("version_b"),
    )
    return sorted(
        turned.partition_by("spec", "older", "newer", "method", as_dict=True).items(), key=lambda item: item[0]
    )


def _counted(group: pl.DataFrame) -> dict[str, Any]:
    return {"sessions": group["session"].n_unique(), "panelists": group["panelist"].n_unique()}


def _read(group: pl.DataFrame, method: str, alike_below: float) -> dict[str, Any]:
    guessing, answers = GUESSING[method], group.height
    right = int((group["correct"] == "yes").sum())
    worth, correlation = _worth(group, pl.col("correct") == "yes")
    counted = right / answers * worth
    p = right_answers_p(counted, worth, guessing)
    alike, so_few = (similarity_p(counted, worth, guessing, most) for most in (alike_below, 0.0))
    noticing = discriminators(counted, worth, guessing)
    row: dict[str, Any] = {
        "answers": answers,
        "worth": worth,
        "correlation": correlation,
        "right": right,
        "right_needed": right_answers_needed(answers, guessing, ALPHA) if worth == answers else None,
        "p": p,
        "noticing": noticing.share,
        "low": noticing.exact_low,
        "high": noticing.exact_high,
        "wald_low": noticing.wald_low,
        "wald_high": noticing.wald_high,
        "similarity_p": alike,
        "so_few_p": so_few,
        "answers_for_alike": answers_that_hold(alike_below, ALPHA, ALPHA, guessing),
        "verdict": _verdict(p, alike, so_few),
    }
    if method in METHODS:
        d = d_prime(counted, worth, method)
        row |= {"d_prime": d.value, "d_se": d.se, "d_low": d.low, "d_high": d.high}
    return row


def _recognised(group: pl.DataFrame) -> dict[str, Any]:
    """The A-not-A test: `given` is what was in the glass, and a right answer to b is 'not A'."""
    correct = group["correct"] == "yes"
    worth, correlation = _worth(group, pl.col("correct") == "yes")
    of_a = group["given"] == "a"
    # Repeats of one person shrink all four counts alike.
    a, hits, other, alarms = (
        round(int(some.sum()) * worth / group.height) for some in (of_a, of_a & correct, ~of_a, ~of_a & ~correct)
    )
    row: dict[str, Any] = {"answers": group.height, "worth": worth, "correlation": correlation}
    row |= {"right": int(correct.sum()), "verdict": "cannot tell"}
    if not a or not other:
        return row
    found = recognised(hits, a, alarms, other)
    return row | {
        "p": found.p,
        "so_few_p": found.so_few_p,
        "d_prime": found.d_prime,
        "d_low": found.d_low,
        "d_high": found.d_high,
        "verdict": _verdict(found.p, 1.0, found.so_few_p),
    }


def _verdict(p: float, alike: float, so_few: float) -> str:
    if so_few <= DOUBTFUL:
        return "in doubt"
    return "different" if p <= ALPHA else "alike" if alike <= ALPHA else "cannot tell"
