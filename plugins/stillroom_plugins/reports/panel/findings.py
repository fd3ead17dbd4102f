"""The panel report's sentences: one for each spec first, then what else differs and what cannot be told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import polars as pl

from stillroom.analysis.panel.verdicts import PanelComparison
from stillroom.objects import Finding
from stillroom.words import counted, listed, number, p_value
from stillroom_plugins.reports.panel.basis import evidence, statistics, test_of
from stillroom_plugins.reports.panel.choosing import best_bet, bet_basis, bet_words, has_rivals, settling
from stillroom_plugins.reports.panel.verdict_words import (
    CLEAR,
    by_winner,
    how_sure,
    loser,
    perhaps,
    points,
    verdicts,
    winner,
)

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
        first = rows.row(0, named=True)
        yield Finding(
            sentence=f"{spec}: no liking was scored, so no version can be called better; see what differs below.",
            evidence=evidence(first, test_of(first, comparison.tests)),
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
        yield _on_liking(", ".join([spec, *where]), found, of_version, comparison, serving)


def _on_liking(
    about: str, found: Sequence[Row], means: Mapping[int, float], comparison: PanelComparison, serving: int | None
) -> Finding:
    clear = by_winner([row for row in found if row["verdict"] in CLEAR], means)
    headline = _headline(found, clear)
    test, told = test_of(headline, comparison.tests), clear or [headline]
    said, basis = [verdicts(found, means, serving)], [evidence(headline, test, told)]
    bet = best_bet(headline, comparison.bets)
    if bet and (headline["verdict"] == "cannot tell" or has_rivals(headline, bet, comparison.differences)):
        said.append(bet_words(bet))
        basis.append(bet_basis(bet))
    if headline["verdict"] == "cannot tell":
        said += settling(next((row for row in found if row["doubt"] is not None), headline), bet)
    act = headline["primary"] and _to_act_on(clear, serving)
    return Finding(
        sentence=f"{about}: {'; '.join(said)}.",
        evidence="; ".join(basis),
        statistics=statistics(headline, test, comparison.tests, told),
        sureness=how_sure(found, headline),
        act=act,
        do=f"put version {winner(headline)} into service" if act and serving is not None else "",
        subject=headline["spec"],
        weight=max((abs(row["effect"] or row["difference"]) for row in clear), default=0.0),
    )


def _headline(found: Sequence[Row], clear: Sequence[Row]) -> Row:
    """The pair that decides how sure the whole is: what cannot be told is not hidden behind what is as good."""
    if clear:
        return clear[0]
    open_ = [row for row in found if row["verdict"] == "cannot tell"]
    return min(open_ or found, key=lambda row: (row["doubt"] is not None, row["p_all"] is None, row["p_all"] or 0.0))


def _to_act_on(clear: Sequence[Row], serving: int | None) -> bool:
    """A better version is not in service; without a version in service, any clear difference is to be acted on."""
    winners, losers = {winner(row) for row in clear}, {loser(row) for row in clear}
    return bool(clear) if serving is None or serving not in winners | losers else serving in losers


def _on_character(spec: str, rows: pl.DataFrame) -> Iterator[Finding]:
    clear = rows.filter(pl.col("verdict").is_in(["more", "less"])).sort("p_all", "attribute", "version", "against")
    if clear.is_empty():
        return
    few = clear.height <= MOST_SPELT_OUT
    said = [_higher_or_lower(row, clear["sureness"][0]) for row in clear.iter_rows(named=True)]
    said = said if few else _widest_apart(clear)
    yield Finding(
        sentence=f"{spec}, character: {listed(said, most=MOST_SPELT_OUT)}.",
        evidence=f"Clear with all attributes allowed for, by {counted(clear['panelists'][0], 'panelist')}.",
        statistics=f"Tukey or Dunnett within the attribute, Holm across; strongest {p_value(clear['p_all'][0])}.",
        sureness=clear["sureness"][0],
        subject=spec,
    )


def _higher_or_lower(row: Row, headline: str) -> str:
    step = "higher" if row["verdict"] == "more" else "lower"
    by = points(row["difference"])
    scores = f"{perhaps(row['sureness'], headline)}scores {step}"
    return f"version {row['version']} {scores} than version {row['against']} in {row['attribute']} ({by})"


def _widest_apart(clear: pl.DataFrame) -> list[str]:
    """For each attribute the two versions that differ most, widest first."""
    widest = clear.sort(pl.col("difference").abs(), descending=True).unique("attribute", maintain_order=True)
    said = []
    for row in widest.iter_rows(named=True):
        top, bottom = (row["version"], row["against"]) if row["difference"] > 0 else (row["against"], row["version"])
        by = number(abs(row["difference"]), 1)
        scores = f"{perhaps(row['sureness'], clear['sureness'][0])}scores higher"
        said.append(f"in {row['attribute']} version {top} {scores} than version {bottom} by {by} points")
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
