"""The panel report's part on difference and preference tests."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import polars as pl

from stillroom.analysis.trials.answers import A_NOT_A, difference_tests, preference_tests
from stillroom.objects import Column, Finding, ReportTable, Sureness
from stillroom.words import counted, number, p_value, percent


def trial_results(
    trials: pl.DataFrame, serving: Mapping[str, int], alike_below: float
) -> tuple[tuple[Finding, ...], tuple[ReportTable, ...]]:
    """Findings and tables of all difference and preference tests."""
    different, preferred = difference_tests(trials, alike_below), preference_tests(trials)
    found = [*_on_differences(different, alike_below), *_on_preferences(preferred, serving)]
    tables = [_difference_table(different), _preference_table(preferred)]
    return tuple(found), tuple(table for table in tables if table.frame.height)


def _on_differences(tests: pl.DataFrame, alike_below: float) -> Iterator[Finding]:
    for row in tests.iter_rows(named=True):
        yield Finding(
            sentence=f"{row['spec']}: {_said(row, alike_below)}.",
            evidence=_trial_basis(row),
            statistics=_trial_statistics(row),
            sureness="cannot tell" if row["verdict"] in ("cannot tell", "in doubt") else _sure(row),
            subject=row["spec"],
        )


def _said(row: dict[str, Any], alike_below: float) -> str:
    versions = f"version {row['newer']} from version {row['older']}"
    right = f"{row['right']} of {row['answers']} right in the {row['method']} test"
    if row["verdict"] == "in doubt":
        other = ", or the other version has more of what was asked for" if row["method"].endswith("AFC") else ""
        return (
            f"fewer tell {versions} than by guessing ({right}): look whether right and wrong were mixed up on the "
            f"sheet, or the samples when they were poured{other}"
        )
    if row["verdict"] == "different":
        return f"people can tell {versions} ({right}){_how_many_notice(row)}"
    if row["verdict"] == "alike":
        return f"fewer than {percent(alike_below)} of people tell {versions} ({right})"
    return f"cannot tell whether people notice {versions} ({right}){_more_answers(row)}"


def _how_many_notice(row: dict[str, Any]) -> str:
    if row["noticing"] is None:
        return ""
    # An end that rounds to nothing is above nothing all the same: they do tell.
    low = percent(row["low"]) if row["low"] >= 0.005 else "a few"
    return f"; about {percent(row['noticing'])} truly notice ({low} to {percent(row['high'])})"


def _more_answers(row: dict[str, Any]) -> str:
    if row["p"] is None:
        return "; both versions must be given for that"
    if row["worth"] == row["answers"] and row["right_needed"] is None and row["method"] != A_NOT_A:
        return "; so few answers cannot show a difference even if all are right"
    if row["answers_for_alike"] and row["answers_for_alike"] > row["worth"]:
        more = row["answers_for_alike"] - int(row["worth"])
        others = " by other people" if row["worth"] < row["answers"] else ""
        return f"; about {counted(more, 'more answer')}{others} would settle it either way"
    return ""


def _sure(row: dict[str, Any]) -> Sureness:
    deciding = row["similarity_p"] if row["verdict"] == "alike" else row["p"]
    return "sure" if deciding <= 0.01 else "likely"


def _trial_basis(row: dict[str, Any]) -> str:
    parts = [f"{counted(row['panelists'], 'panelist')} in {counted(row['sessions'], 'session')}"]
    if row["noticing"] is not None:
        parts.append("each end of what notices holds in 95 % of cases")
    return "; ".join(parts) + _repeated(row)


def _trial_statistics(row: dict[str, Any]) -> str:
    test = "Fisher's exact test" if row["method"] == A_NOT_A else "Exact binomial against guessing"
    parts = []
    if row["p"] is not None:
        few = f"so few right with {p_value(row['so_few_p'])}" if row["verdict"] == "in doubt" else p_value(row["p"])
        parts.append(f"{test}, {few}")
    if row["d_prime"] is not None:
        high = number(row["d_high"], 2) if row["d_high"] is not None else "no upper limit"
        parts.append(f"d′ {number(row['d_prime'], 2)} ({number(row['d_low'], 2)} to {high})")
    if row["correlation"]:
        parts.append(f"beta-binomial, correlation {number(row['correlation'], 2)} of one person's answers")
    return "; ".join(parts)


def _repeated(row: dict[str, Any]) -> str:
    if row["correlation"] is None or row["worth"] is None or round(row["worth"]) >= row["answers"]:
        return ""
    return (
        f"; some answered several times and much alike, so the {row['answers']} answers count as "
        f"{number(row['worth'])} of people of their own"
    )


def _on_preferences(tests: pl.DataFrame, serving: Mapping[str, int]) -> Iterator[Finding]:
    for row in tests.iter_rows(named=True):
        newer, older, decided = row["newer"], row["older"], row["prefer_newer"] + row["prefer_older"]
        clear = row["verdict"] != "cannot tell"
        first = newer if row["prefer_newer"] >= row["prefer_older"] else older
        other = older if first == newer else newer
        count = f"{max(row['prefer_newer'], row['prefer_older'])} of {decided} who had a preference"
        said = (
            f"version {first} is preferred to version {other}, by {count}"
            if clear
            else f"cannot tell which of versions {older} and {newer} is preferred: {count} chose version {first}"
            if decided
            else f"cannot tell which of versions {older} and {newer} is preferred: nobody had a preference"
        )
        yield Finding(
            sentence=f"{row['spec']}: {said}.",
            evidence=f"{row['no_preference']} without a preference; {counted(row['panelists'], 'panelist')}"
            + _repeated({**row, "answers": decided}),
            statistics=f"Two-sided exact binomial, {p_value(row['p'])}" if row["p"] is not None else "",
            sureness=("sure" if row["p"] <= 0.01 else "likely") if clear else "cannot tell",
            act=clear and serving.get(row["spec"], other) == other,
            subject=row["spec"],
            weight=abs(row["share"] - 0.5) if clear else 0.0,
        )


def _difference_table(tests: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="difference-tests",
        title="Difference tests",
        frame=tests,
        subjects="spec",
        columns={
            "spec": Column(label="Spec"),
            "older": Column(label="Version"),
            "newer": Column(label="and"),
            "method": Column(label="Method"),
            "right": Column(label="Right"),
            "answers": Column(label="of"),
            "worth": Column(label="Worth", decimals=1),
            "right_needed": Column(label="Right needed at 5 %"),
            "p": Column(label="p", decimals=4, p_value=True),
            "noticing": Column(label="Truly notice", percent=True),
            "low": Column(label="from", percent=True),
            "high": Column(label="to", percent=True),
            "d_prime": Column(label="d′", decimals=2),
            "d_low": Column(label="from", decimals=2),
            "d_high": Column(label="to", decimals=2),
            "similarity_p": Column(label="p of being alike", decimals=4, p_value=True),
            "verdict": Column(label="Verdict"),
        },
        note="Truly notice: right answers less those by guessing; each of its ends holds in 95 % of cases, as the test "
        "does. Worth: what the answers count as where some gave several. d′ compares tests of different methods, the "
        "share of those who notice does not.",
    )


def _preference_table(tests: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="preference-tests",
        title="Preference tests",
        frame=tests,
        subjects="spec",
        columns={
            "spec": Column(label="Spec"),
            "older": Column(label="Older version"),
            "newer": Column(label="Newer version"),
            "prefer_older": Column(label="prefer the older"),
            "prefer_newer": Column(label="prefer the newer"),
            "no_preference": Column(label="neither"),
            "share": Column(label="Share for the newer", percent=True),
            "low": Column(label="from", percent=True),
            "high": Column(label="to", percent=True),
            "p": Column(label="p", decimals=4, p_value=True),
            "verdict": Column(label="Verdict"),
        },
    )
