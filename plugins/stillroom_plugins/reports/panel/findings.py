"""The panel report's sentences: one for each spec first, then what else differs and what cannot be told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import polars as pl

from stillroom.analysis.panel.verdicts import PanelComparison
from stillroom.objects import Finding, Sureness
from stillroom_plugins.reports._words import counted, listed, number
from stillroom_plugins.reports.panel.words import p_value

Row = dict[str, Any]
SURE_AT: Final = 0.01
MOST_SPELT_OUT: Final = 4
"""Differences named one by one; of more, the widest of each attribute."""
CLEAR: Final = ("better", "worse")


def on_specs(comparison: PanelComparison, in_service: Mapping[str, int]) -> tuple[Finding, ...]:
    """What holds for each spec: which version is liked better, or that it cannot be told."""
    chosen = decisive(comparison.differences)
    return tuple(
        finding
        for (spec,), rows in sorted(chosen.partition_by("spec", as_dict=True).items())
        for finding in _on_spec(str(spec), rows, comparison.tests, in_service.get(str(spec)))
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
    """Where the figures are to be taken with care, and what could not be worked out."""
    return (*_on_ranks(comparison.tests), *_on_unlinked(comparison.tests), *_on_problems(comparison.tests))


def decisive(differences: pl.DataFrame) -> pl.DataFrame:
    """The comparisons that answer the question: with the version in service where that was tasted, else all pairs."""
    has_serving = (pl.col("correction") == "Dunnett").any().over("spec", "attribute", "sessions")
    return differences.filter((pl.col("correction") == "Dunnett") == has_serving)


def _on_spec(spec: str, rows: pl.DataFrame, tests: pl.DataFrame, serving: int | None) -> Iterator[Finding]:
    liking = rows.filter("higher_is_better")
    if liking.is_empty():
        yield Finding(
            sentence=f"{spec}: no liking was scored, so no version can be called better; see what differs below.",
            evidence=_basis(rows.row(0, named=True), tests),
            sureness="cannot tell",
            subject=spec,
        )
    groups = sorted(liking.partition_by("attribute", "sessions", as_dict=True).items())
    for (attribute, sessions), pairs in groups:
        where = [str(attribute)] if liking["attribute"].n_unique() > 1 else []
        where += [f"session {sessions}"] if liking["sessions"].n_unique() > 1 else []
        yield _on_liking(spec, where, sorted(pairs.iter_rows(named=True), key=lambda row: row["p_all"]), tests, serving)


def _on_liking(spec: str, where: list[str], found: Sequence[Row], tests: pl.DataFrame, serving: int | None) -> Finding:
    clear = [row for row in found if row["verdict"] in CLEAR]
    strongest = (clear or found)[0]
    return Finding(
        sentence=f"{', '.join([spec, *where])}: {_verdicts(found, serving)}.",
        evidence=_basis(strongest, tests),
        sureness=_sureness(strongest) if clear or strongest["verdict"] != "cannot tell" else "cannot tell",
        act=_to_act_on(clear, serving),
        subject=spec,
        weight=max((abs(row["effect"]) for row in clear), default=0.0),
    )


def _to_act_on(clear: Sequence[Row], serving: int | None) -> bool:
    """A better version is not in service; without a version in service, any clear difference is to be acted on."""
    winners = [row["version"] if row["verdict"] == "better" else row["against"] for row in clear]
    losers = [row["against"] if row["verdict"] == "better" else row["version"] for row in clear]
    return bool(clear) if serving is None or serving not in winners + losers else serving in losers


def _verdicts(found: Sequence[Row], serving: int | None) -> str:
    """What the pairs amount to: few are spelt out, of many the best-liked version is named."""
    if len(found) <= 3:
        unclear = [row for row in found if row["verdict"] == "cannot tell"]
        return "; ".join([_pair(row, serving) for row in found] + [_more_tasters(row) for row in unclear[:1]])
    beaten: dict[int, set[int]] = {}
    for row in found:
        if row["verdict"] in CLEAR:
            up = row["verdict"] == "better"
            beaten.setdefault(row["version" if up else "against"], set()).add(row["against" if up else "version"])
    if not beaten:
        return (
            f"the panel cannot tell any two of {counted(_versions(found), 'version')} apart; {_more_tasters(found[0])}"
        )
    best = max(beaten, key=lambda version: (len(beaten[version]), version))
    named = listed([str(version) for version in sorted(beaten[best])], most=12)
    return (
        f"{_version(best, serving)} is liked better than {'versions' if len(beaten[best]) > 1 else 'version'} {named}, "
        f"of {_versions(found)} tasted; differences not named are too small for this panel to tell"
    )


def _versions(found: Sequence[Row]) -> int:
    return len({row[side] for row in found for side in ("version", "against")})


def _pair(row: Row, serving: int | None) -> str:
    newer, older = _version(row["version"], serving), _version(row["against"], serving)
    by = f"{number(abs(row['difference']), 1)} points"
    interval = _interval(row)
    if row["verdict"] == "better":
        return f"{newer} is liked better than {older}, by {by} ({interval})"
    if row["verdict"] == "worse":
        return f"{newer} is liked less than {older}, by {by} ({interval})"
    if row["verdict"] == "as good as":
        within = f"it is not worse by the margin of {number(row['worth_seeing'], 1)} points"
        alike = " nor better by as much" if row["high"] < row["worth_seeing"] else ""
        return f"{newer} is as good as {older}: {within}{alike} (difference {_signed(row)}, {interval})"
    if row["low"] > 0 or row["high"] < 0:
        interval += ", but not clear once all attributes are allowed for"
    return f"cannot tell {newer} from {older}: the difference is {_signed(row)} ({interval})"


def _version(version: int, serving: int | None) -> str:
    return f"version {version} (in service)" if version == serving else f"version {version}"


def _signed(row: Row) -> str:
    return f"{'+' if row['difference'] > 0 else ''}{number(row['difference'], 1)} points"


def _interval(row: Row) -> str:
    return f"95 % interval {number(row['low'], 1)} to {number(row['high'], 1)}"


def _more_tasters(row: Row) -> str:
    size = f"a difference of {number(row['worth_seeing'], 2).rstrip('0').rstrip('.')} points"
    if row["tasters_needed"] is None:
        return f"{size} would take more than a thousand tasters to see"
    more = row["tasters_needed"] - row["panelists"]
    if more <= 0:
        return f"{size} would have been seen by this panel four times in five, so the true one is likely smaller"
    return f"about {counted(more, 'more taster')} would see {size} four times in five"


def _sureness(row: Row) -> Sureness:
    deciding = row["p_all"] if row["verdict"] in CLEAR else row["not_worse_p"]
    return "sure" if deciding <= SURE_AT else "likely"


def _basis(row: Row, tests: pl.DataFrame) -> str:
    test = tests.filter(
        (pl.col("spec") == row["spec"])
        & (pl.col("attribute") == row["attribute"])
        & (pl.col("sessions") == row["sessions"])
    ).row(0, named=True)
    attributes = tests.filter((pl.col("spec") == row["spec"]) & pl.col("f").is_not_null())["attribute"].n_unique()
    sessions = len(test["sessions"].split("; "))
    parts = [
        f"{row['attribute']}: {counted(test['scores'], 'score')} by {counted(test['panelists'], 'panelist')} "
        f"in {counted(sessions, 'session')}",
        f"{test['method']}, {row['correction']} within the attribute, Holm over {counted(attributes, 'attribute')}",
        p_value(row["p_all"]),
    ]
    if test["rank_p"] is not None:
        parts.append(f"{test['rank_method']} rank test {p_value(test['rank_p'])}")
    if row["never_met"]:
        parts.append("these two never met in one session and are compared only through versions they share")
    return "; ".join(parts)


def _on_character(spec: str, rows: pl.DataFrame) -> Iterator[Finding]:
    clear = rows.filter(pl.col("verdict").is_in(["more", "less"])).sort("p_all", "attribute", "version", "against")
    if clear.is_empty():
        return
    few = clear.height <= MOST_SPELT_OUT
    said = [_higher_or_lower(row) for row in clear.iter_rows(named=True)] if few else _widest_apart(clear)
    yield Finding(
        sentence=f"{spec}, character: {listed(said, most=MOST_SPELT_OUT)}.",
        evidence=f"Clear after correction; strongest {p_value(clear['p_all'][0])}; see the table of differences.",
        sureness=_sureness({**clear.row(0, named=True), "verdict": "better"}),
        subject=spec,
    )


def _higher_or_lower(row: Row) -> str:
    step = "higher" if row["verdict"] == "more" else "lower"
    return (
        f"version {row['version']} scores {step} than version {row['against']} in {row['attribute']} ({_signed(row)})"
    )


def _widest_apart(clear: pl.DataFrame) -> list[str]:
    """For each attribute the two versions that differ most, widest first."""
    widest = clear.sort(pl.col("difference").abs(), descending=True).unique("attribute", maintain_order=True)
    said = []
    for row in widest.iter_rows(named=True):
        top, bottom = (row["version"], row["against"]) if row["difference"] > 0 else (row["against"], row["version"])
        by = number(abs(row["difference"]), 1)
        said.append(f"in {row['attribute']} version {top} scores higher than version {bottom} by {by} points")
    return said


def _on_ranks(tests: pl.DataFrame) -> Iterator[Finding]:
    torn = tests.filter(pl.col("rank_disagrees")).sort("spec", "attribute")
    for (spec,), rows in sorted(torn.partition_by("spec", as_dict=True).items()):
        said = [
            f"{row['attribute']}: F test {p_value(row['p'])}, {row['rank_method']} {p_value(row['rank_p'])}"
            for row in rows.iter_rows(named=True)
        ]
        yield Finding(
            sentence=f"{spec}, {listed(rows['attribute'].to_list())}: the model and the rank test do not "
            "agree whether versions differ at all; take the verdicts there with care.",
            evidence=f"{'; '.join(said)}. A few extreme scores, or many ties, can do this.",
            sureness="cannot tell",
            subject=str(spec),
        )


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
