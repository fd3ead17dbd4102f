"""Difference and preference tests as they were answered: counted by pair of versions and method, and read."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.intervals import share_interval
from stillroom.analysis.trials.discrimination import (
    GUESSING,
    answers_needed,
    discriminators,
    preference_p,
    right_answers_needed,
    right_answers_p,
    similarity_p,
)
from stillroom.analysis.trials.thurstone import METHODS, d_prime

ALPHA: Final = 0.05
PREFERENCE: Final = "paired-preference"
ALIKE_BELOW: Final = 0.3
"""Share of discriminators below which versions count as alike unless the settings say otherwise: medium in ISO 4120."""
DOUBTFUL: Final = 0.01
"""Chance of so few right answers by guessing alone, below which the answers themselves are in doubt."""

DIFFERENCE_TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "older": pl.Int64, "newer": pl.Int64, "method": pl.String, "sessions": pl.Int64,
        "panelists": pl.Int64, "answers": pl.Int64, "right": pl.Int64, "right_needed": pl.Int64, "p": pl.Float64,
        "noticing": pl.Float64, "low": pl.Float64, "high": pl.Float64, "wald_low": pl.Float64, "wald_high": pl.Float64,
        "d_prime": pl.Float64, "d_se": pl.Float64, "d_low": pl.Float64, "d_high": pl.Float64,
        "similarity_p": pl.Float64, "so_few_p": pl.Float64, "answers_for_alike": pl.Int64, "verdict": pl.String,
    }
)  # fmt: skip
PREFERENCE_TESTS: Final = pl.Schema(
    {
        "spec": pl.String, "older": pl.Int64, "newer": pl.Int64, "sessions": pl.Int64, "panelists": pl.Int64,
        "prefer_newer": pl.Int64, "prefer_older": pl.Int64, "no_preference": pl.Int64, "share": pl.Float64,
        "low": pl.Float64, "high": pl.Float64, "p": pl.Float64, "verdict": pl.String,
    }
)  # fmt: skip


def difference_tests(trials: pl.DataFrame, alike_below: float = ALIKE_BELOW) -> pl.DataFrame:
    """Every difference test, sessions joined; `trials` as the table trial, result as `DIFFERENCE_TESTS`.

    p: one-sided exact binomial against guessing; so_few_p: its other side, the chance of so few right by guessing.
    noticing: share of discriminators with the exact interval (and the normal one of ISO 4120). verdict: 'different',
    'alike' (surely less than `alike_below` notice), 'in doubt' (fewer right than by guessing) or 'cannot tell'.
    """
    answered = _by_pair(trials.filter((pl.col("method") != PREFERENCE) & pl.col("correct").is_not_null()))
    rows = []
    for (spec, older, newer, method), group in answered:
        right = int((group["correct"] == "yes").sum())
        rows.append(
            {"spec": spec, "older": older, "newer": newer, "method": method, **_counted(group)}
            | _read(right, group.height, str(method), alike_below)
        )
    return pl.DataFrame(rows, schema=DIFFERENCE_TESTS)


def preference_tests(trials: pl.DataFrame) -> pl.DataFrame:
    """Every preference test, sessions joined; frame `PREFERENCE_TESTS`.

    share: of those with a preference, who prefer the newer version; exact interval and two-sided exact p. Answers
    without a preference are counted and left out of both (common practice).
    """
    answered = _by_pair(trials.filter((pl.col("method") == PREFERENCE) & pl.col("chosen").is_not_null()))
    rows = []
    for (spec, older, newer, _), group in answered:
        newer_wins, older_wins = int((group["wins"] == newer).sum()), int((group["wins"] == older).sum())
        row = {"spec": spec, "older": older, "newer": newer, **_counted(group)}
        row |= {"prefer_newer": newer_wins, "prefer_older": older_wins}
        row |= {"no_preference": group.height - newer_wins - older_wins, "verdict": "cannot tell"}
        if decided := newer_wins + older_wins:
            interval = share_interval(newer_wins, decided, method="exact")
            p = preference_p(newer_wins, decided)
            row |= {"share": newer_wins / decided, "low": interval.low, "high": interval.high, "p": p}
            if p <= ALPHA:
                row["verdict"] = "newer preferred" if newer_wins > older_wins else "older preferred"
        rows.append(row)
    return pl.DataFrame(rows, schema=PREFERENCE_TESTS)


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


def _read(right: int, answers: int, method: str, alike_below: float) -> dict[str, Any]:
    guessing = GUESSING[method]
    p = right_answers_p(right, answers, guessing)
    alike, so_few = (similarity_p(right, answers, guessing, most) for most in (alike_below, 0.0))
    noticing = discriminators(right, answers, guessing)
    row: dict[str, Any] = {
        "answers": answers,
        "right": right,
        "right_needed": right_answers_needed(answers, guessing, ALPHA),
        "p": p,
        "noticing": noticing.share,
        "low": noticing.exact_low,
        "high": noticing.exact_high,
        "wald_low": noticing.wald_low,
        "wald_high": noticing.wald_high,
        "similarity_p": alike,
        "so_few_p": so_few,
        "answers_for_alike": answers_needed(alike_below, ALPHA, ALPHA, guessing),
        "verdict": _verdict(p, alike, so_few),
    }
    if method in METHODS:
        d = d_prime(right, answers, method)
        row |= {"d_prime": d.value, "d_se": d.se, "d_low": d.low, "d_high": d.high}
    return row


def _verdict(p: float, alike: float, so_few: float) -> str:
    if so_few <= DOUBTFUL:
        return "in doubt"
    return "different" if p <= ALPHA else "alike" if alike <= ALPHA else "cannot tell"
