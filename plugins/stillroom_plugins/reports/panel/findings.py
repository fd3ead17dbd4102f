"""The panel report's sentences: one for each spec first, then what else differs and what cannot be told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

import polars as pl

from stillroom.analysis.panel.verdicts import ALPHA, PanelComparison
from stillroom.objects import Finding
from stillroom_plugins.reports._words import counted, listed, number
from stillroom_plugins.reports.panel.verdict_words import CLEAR, by_winner, loser, points, verdicts, winner
from stillroom_plugins.reports.panel.words import p_value

Row = dict[str, Any]
MOST_SPELT_OUT: Final = 4
"""Differences named one by one; of more, the widest of each attribute."""


def on_specs(comparison: PanelComparison, in_service: Mapping[str, int]) -> tuple[Finding, ...]:
    """What holds for each spec: which version is liked better, or that it cannot be told."""
    chosen = decisive(comparison.differences)
    return tuple(
        finding
        for (spec,), rows in sorted(chosen.partition_by("spec", as_dict=True).items())
        for finding in _on_spec(str(spec), rows, comparison, in_service.get(str(spec)))
    )


def on_character(comparison: PanelComparison) -> tuple[Finding, ...]:
    """What else differs, in attributes where more is not simply better."""
    chosen = decisive(comparison.differences)
    return tuple(
        finding
        for (spec,), rows in sorted(chosen.partition_by("spec", as_dict=True).items())
        for finding in _on_character(str(spec), rows)
    )


def on_doubts(comparison: PanelComparison) -> tuple[Finding, ...]:
    """What could not be worked out."""
    return (*_on_unlinked(comparison.tests), *_on_problems(comparison.tests))


def decisive(differences: pl.DataFrame) -> pl.DataFrame:
    """The comparisons that answer the question: with the version in service where that was tasted, else all pairs."""
    has_serving = (pl.col("correction") == "Dunnett").any().over("spec", "attribute", "sessions")
    return differences.filter((pl.col("correction") == "Dunnett") == has_serving)


def _on_spec(spec: str, rows: pl.DataFrame, comparison: PanelComparison, serving: int | None) -> Iterator[Finding]:
    liking = rows.filter("higher_is_better")
    if liking.is_empty():
        yield Finding(
            sentence=f"{spec}: no liking was scored, so no version can be called better; see what differs below.",
            evidence=_basis(rows.row(0, named=True), comparison.tests),
            sureness="cannot tell",
            subject=spec,
        )
    groups = sorted(liking.partition_by("attribute", "sessions", as_dict=True).items())
    for (attribute, sessions), pairs in groups:
        where = [str(attribute)] if liking["attribute"].n_unique() > 1 else []
        where += [f"session {sessions}"] if liking["sessions"].n_unique() > 1 else []
        means = comparison.means.filter(
            (pl.col("spec") == spec) & (pl.col("attribute") == attribute) & (pl.col("sessions") == sessions)
        )
        of_version = dict(means.select("version", "mean").rows())
        found = sorted(pairs.iter_rows(named=True), key=lambda row: (row["p_all"] is None, row["p_all"]))
        yield _on_liking(spec, where, found, of_version, comparison.tests, serving)


def _on_liking(
    spec: str, where: list[str], found: Sequence[Row], means: Mapping[int, float], tests: pl.DataFrame,
    serving: int | None,
) -> Finding:  # fmt: skip
    clear = by_winner([row for row in found if row["verdict"] in CLEAR], means)
    headline = (clear or found)[0]
    said = [verdicts(found, means, serving)]
    if not clear and headline["verdict"] == "cannot tell":
        said += _more_tasters(headline)
    return Finding(
        sentence=f"{', '.join([spec, *where])}: {'; '.join(said)}.",
        evidence=_basis(headline, tests, _figures(clear or found[:1])),
        sureness=headline["sureness"],
        act=_to_act_on(clear, serving),
        subject=spec,
        weight=max((abs(row["effect"] or row["difference"]) for row in clear), default=0.0),
    )


def _to_act_on(clear: Sequence[Row], serving: int | None) -> bool:
    """A better version is not in service; without a version in service, any clear difference is to be acted on."""
    winners, losers = {winner(row) for row in clear}, {loser(row) for row in clear}
    return bool(clear) if serving is None or serving not in winners | losers else serving in losers


def _figures(rows: Sequence[Row]) -> Iterator[str]:
    """Every pair with its own size, interval and p."""
    for row in rows:
        sign = 1 if row["difference"] > 0 else -1
        parts = [f"{winner(row)} over {loser(row)}: +{number(abs(row['difference']), 1)} points"]
        if row["low"] is not None:
            low, high = sorted((sign * row["low"], sign * row["high"]))
            level = number(100 * (1 - row["level"]), 0 if row["level"] > 0.0499 else 1)
            parts.append(f"{level} % interval {number(low, 1)} to {number(high, 1)}")
        if row["p_all"] is not None:
            parts.append(p_value(row["p_all"]))
        yield ", ".join(parts)


def _more_tasters(row: Row) -> Iterator[str]:
    """How many more a difference worth seeing takes, by the rule of the verdict; none where that is no help."""
    size = f"a difference of {number(row['worth_seeing'], 2).rstrip('0').rstrip('.')} points"
    if row["doubt"] is not None or row["sittings"] > 1 or row["tasters_low"] is None:
        return
    if row["tasters_needed"] is None:
        yield f"{size} would take more than a thousand tasters to see"
        return
    more = row["tasters_needed"] - row["panelists"]
    if more > 0:
        least = max(row["tasters_low"] - row["panelists"], 0)
        most = "over 1000" if row["tasters_high"] is None else number(row["tasters_high"] - row["panelists"])
        yield (
            f"about {counted(more, 'more taster')} would see {size} four times in five "
            f"({number(least)} to {most}, since so few people's scatter is not well known)"
        )


def _basis(row: Row, tests: pl.DataFrame, figures: Iterable[str] = ()) -> str:
    test = tests.filter(
        (pl.col("spec") == row["spec"])
        & (pl.col("attribute") == row["attribute"])
        & (pl.col("sessions") == row["sessions"])
    ).row(0, named=True)
    sessions = len(test["sessions"].split("; "))
    parts = [
        f"{row['attribute']}: {counted(test['scores'], 'score')} by {counted(test['panelists'], 'panelist')} "
        f"in {counted(sessions, 'session')}",
        *figures,
        *_rule(row, test, tests),
        *_exact(row, test),
        *_order(test),
    ]
    if test["rank_p"] is not None:
        left_out = f" without {test['rank_left_out']}, who tasted one version only" if test["rank_left_out"] else ""
        parts.append(f"{test['rank_method']} rank test {p_value(test['rank_p'])}{left_out}")
    if row["never_met"]:
        parts.append("these two never met in one session and are compared only through versions they share")
    return "; ".join(parts)


def _rule(row: Row, test: Row, tests: pl.DataFrame) -> Iterator[str]:
    if test["method"] is None:
        yield "all agree in the steps between versions, so the exact test decides"
        return
    corrected = f"{row['correction']} within the attribute"
    if not row["primary"]:
        others = tests.filter((pl.col("spec") == row["spec"]) & pl.col("f").is_not_null())["attribute"].n_unique() - 1
        corrected += f", Holm over {counted(max(others, 1), 'attribute')}"
    yield f"{test['method']}, {corrected}"
    if row["looked_again"]:
        yield (
            f"after {counted(row['sittings'], 'sitting')} that were not planned beforehand: an interval that holds "
            "whenever one looks (Lai 1976)"
        )
    elif row["level"] < ALPHA:
        share = number(100 * row["level"], 2)
        yield f"after {counted(row['sittings'], 'sitting')} of those planned: held against {share} %"
    if row["tasters_again"] is not None and row["verdict"] == "cannot tell" and row["doubt"] is None:
        yield f"in further sittings that were not planned about {number(row['tasters_again'])} tasters in all"


def _exact(row: Row, test: Row) -> Iterator[str]:
    if row["exact_p"] is None:
        return
    up, down = row["scored_higher"], row["scored_lower"]
    more, fewer = (up, down) if row["difference"] > 0 else (down, up)
    yield (
        f"{more} of {row['tasted_both']} gave version {winner(row)} more points than version {loser(row)}, {fewer} "
        f"fewer: exact sign-flip test {p_value(row['exact_p'])} for these two alone"
    )
    if test["smallest_exact_p"] > ALPHA:
        yield (
            f"with {counted(test['panelists'], 'taster')} that test can never reach 5 % "
            f"(at best {p_value(test['smallest_exact_p'])})"
        )


def _order(test: Row) -> Iterator[str]:
    if test["first_glass"] is not None:
        effect = f"{points(test['first_glass'])}, {p_value(test['first_glass_p'])}"
        yield f"what the first glass gets is taken out ({effect})"
    elif not test["positions_known"]:
        yield "no serving positions were given, so what a first glass gets is not taken out"


def _on_character(spec: str, rows: pl.DataFrame) -> Iterator[Finding]:
    clear = rows.filter(pl.col("verdict").is_in(["more", "less"])).sort("p_all", "attribute", "version", "against")
    if clear.is_empty():
        return
    few = clear.height <= MOST_SPELT_OUT
    said = [_higher_or_lower(row) for row in clear.iter_rows(named=True)] if few else _widest_apart(clear)
    yield Finding(
        sentence=f"{spec}, character: {listed(said, most=MOST_SPELT_OUT)}.",
        evidence=f"Clear after correction; strongest {p_value(clear['p_all'][0])}; see the table of differences.",
        sureness=clear["sureness"][0],
        subject=spec,
    )


def _higher_or_lower(row: Row) -> str:
    step = "higher" if row["verdict"] == "more" else "lower"
    by = points(row["difference"])
    return f"version {row['version']} scores {step} than version {row['against']} in {row['attribute']} ({by})"


def _widest_apart(clear: pl.DataFrame) -> list[str]:
    """For each attribute the two versions that differ most, widest first."""
    widest = clear.sort(pl.col("difference").abs(), descending=True).unique("attribute", maintain_order=True)
    said = []
    for row in widest.iter_rows(named=True):
        top, bottom = (row["version"], row["against"]) if row["difference"] > 0 else (row["against"], row["version"])
        by = number(abs(row["difference"]), 1)
        said.append(f"in {row['attribute']} version {top} scores higher than version {bottom} by {by} points")
    return said


def _on_unlinked(tests: pl.DataFrame) -> Iterator[Finding]:
    groups_each = tests.with_columns(groups=pl.len().over("spec", "attribute"))
    for (spec,), rows in sorted(groups_each.partition_by("spec", as_dict=True).items()):
        groups = rows.filter(pl.col("attribute") == rows.sort("groups", descending=True)["attribute"][0])
        if groups.height > 1:
            said = [f"{row['versions']} (session {row['sessions']})" for row in groups.iter_rows(named=True)]
            yield Finding(
                sentence=f"{spec}: versions {listed(said)} never met in one session, nor through a version they share, "
                "so they are not compared across these groups.",
                evidence="Sessions differ by the day and the people; only a shared version links them.",
                sureness="cannot tell",
                subject=str(spec),
            )


def _on_problems(tests: pl.DataFrame) -> Iterator[Finding]:
    troubled = tests.filter(pl.col("problem").is_not_null()).sort("spec", "attribute")
    for (spec, problem, sessions), rows in sorted(
        troubled.partition_by("spec", "problem", "sessions", as_dict=True).items()
    ):
        yield Finding(
            sentence=f"{spec}, {listed(rows['attribute'].to_list())}: {problem}.",
            evidence=f"Session {sessions}; {counted(int(rows['scores'].sum()), 'score')}.",
            sureness="cannot tell",
            subject=str(spec),
        )
