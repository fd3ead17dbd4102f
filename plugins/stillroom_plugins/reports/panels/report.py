"""Report on a group: one difference between two versions from the panels of many houses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import polars as pl

from stillroom.analysis.holm import holm
from stillroom.analysis.houses.panels import LEAST_HOUSES, Combined, by_house, combined
from stillroom.analysis.panel.attributes import is_liking
from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, number, p_value, signed
from stillroom_plugins.reports._vega import Field, View, layer, on, told

LEVEL: Final = 0.05
NOTES: Final = (
    "Scores of liking, newer less older version, by the panelists of each house who scored both. The house is a random "
    "effect: each house's panel may have a taste of its own, and the interval is that of the mean over houses, "
    "at 95 % over all pairs together "
    "(Paule & Mandel 1982; Hartung & Knapp 2001). Panelists are numbers: their names stay in their house.",
)


@dataclass(frozen=True, kw_only=True)
class Question:
    """Two neighbouring versions of one spec, as all houses' panels see them."""

    spec: str
    newer: int
    older: int
    houses: pl.DataFrame
    """house, panelists, difference, variance."""
    found: Combined
    p_value: float = 1.0
    """Corrected for the number of questions (Holm)."""

    @property
    def between(self) -> tuple[float, float]:
        """The interval that holds nought just where the corrected test cannot tell."""
        steps = self.p_value / self.found.p_value if self.found.p_value else 1.0
        return self.found.interval(1 - LEVEL / steps)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and a chart of every spec that panels of several houses compared."""
    asked = _asked(inputs.frames["panel_means"].filter(is_liking()))
    if not asked:
        sentence = "No two houses' panels compared the same versions of a spec."
        nothing = Finding(
            sentence=sentence,
            evidence="At least two panelists who scored both, in at least two houses.",
            sureness="cannot tell",
        )
        return ReportResult(findings=(nothing,), notes=NOTES)
    return ReportResult(
        findings=tuple(_finding(one) for one in asked),
        tables=(_together(asked), _apart(asked)),
        charts=(_chart(asked),),
        notes=NOTES,
    )


def _asked(scores: pl.DataFrame) -> list[Question]:
    found = list(_questions(scores))
    corrected = holm([one.found.p_value for one in found]).tolist() if found else []
    return [
        Question(spec=one.spec, newer=one.newer, older=one.older, houses=one.houses, found=one.found, p_value=p)
        for one, p in zip(found, corrected, strict=True)
    ]


def _questions(scores: pl.DataFrame) -> Iterator[Question]:
    """Neighbouring versions of a spec that panels of at least two houses scored, on the scale that most scored on."""
    for (spec,), rows in scores.sort("spec").group_by("spec", maintain_order=True):
        scales = rows.group_by("attribute", "scale_low", "scale_high").len().sort("len", "attribute")
        on = rows.join(scales.tail(1), on=["attribute", "scale_low", "scale_high"])
        for older, newer in pairwise(on["version"].unique().sort().to_list()):
            houses = by_house(on, newer, older)
            one = (
                combined(houses["difference"].to_numpy(), houses["variance"].to_numpy())
                if houses.height >= LEAST_HOUSES
                else None
            )
            if one is not None:
                yield Question(spec=str(spec), newer=newer, older=older, houses=houses, found=one)


def _finding(one: Question) -> Finding:
    found, (low, high) = one.found, one.between
    tasters = int(one.houses["panelists"].sum())
    evidence = (
        f"{counted(tasters, 'panelist')} in {counted(found.houses, 'house')}: {signed(found.difference, 2)} "
        "points, between "
        f"{signed(low, 2)} and {signed(high, 2)}."
    )
    statistics = (
        f"Houses' own differences have a standard deviation of {number(found.spread, 2)}; "
        f"{p_value(found.p_value)}, after "
        f"Holm {p_value(one.p_value)}."
    )
    pair = f"{one.spec}: version {one.newer}"
    if one.p_value > LEVEL:
        return Finding(
            sentence=f"{pair} beside version {one.older}: the panels of {counted(found.houses, 'house')} cannot tell.",
            evidence=evidence,
            statistics=statistics,
            sureness="cannot tell",
        )
    better = found.difference > 0
    return Finding(
        sentence=f"{pair} is liked {number(abs(found.difference), 1)} points {'more' if better else 'less'} than "
        "version "
        f"{one.older} over {counted(found.houses, 'house')}.",
        evidence=evidence,
        statistics=statistics,
        act=not better,
        do="" if better else f"go back to version {one.older} of {one.spec}, or taste it again",
        weight=abs(found.difference),
    )


def _together(asked: list[Question]) -> ReportTable:
    rows = [
        {
            "spec": one.spec,
            "newer": one.newer,
            "older": one.older,
            "houses": one.found.houses,
            "panelists": int(one.houses["panelists"].sum()),
            "difference": one.found.difference,
            "low": one.between[0],
            "high": one.between[1],
            "spread": one.found.spread,
            "p": one.p_value,
        }
        for one in asked
    ]
    return ReportTable(
        name="together",
        title="Liking of the newer version less that of the older, over all houses",
        frame=pl.DataFrame(rows),
        columns={
            "spec": Column(label="Spec"),
            "newer": Column(label="Version"),
            "older": Column(label="beside"),
            "houses": Column(label="Houses"),
            "panelists": Column(label="Panelists"),
            "difference": Column(label="Points", decimals=2, signed=True),
            "low": Column(label="from", decimals=2, signed=True),
            "high": Column(label="to", decimals=2, signed=True),
            "spread": Column(label="Houses differ by", decimals=2),
        },
    )


def _by_house(asked: list[Question]) -> pl.DataFrame:
    return pl.concat(
        [
            one.houses.select(
                "house",
                pl.lit(one.spec).alias("spec"),
                pl.lit(one.newer).alias("newer"),
                pl.lit(one.older).alias("older"),
                "panelists",
                "difference",
                pl.col("variance").sqrt().alias("error"),
            )
            for one in asked
        ]
    )


def _apart(asked: list[Question]) -> ReportTable:
    return ReportTable(
        name="houses",
        title="Liking of the newer version less that of the older, by each house's own panel",
        frame=_by_house(asked),
        columns={
            "house": Column(label="House"),
            "spec": Column(label="Spec"),
            "newer": Column(label="Version"),
            "older": Column(label="beside"),
            "panelists": Column(label="Panelists"),
            "difference": Column(label="Points", decimals=2, signed=True),
            "error": Column(label="Standard error", decimals=2),
        },
        subjects="house",
    )


def _chart(asked: list[Question]) -> ReportChart:
    return ReportChart(
        name="together",
        title="Liking of the newer version less that of the older: the mean over houses with its interval",
        chart=_intervals(asked).chart(),
        note="Small dots: single houses. Dashed line: no difference.",
    )


def _intervals(asked: list[Question]) -> View:
    names = {(one.spec, one.newer): f"{one.spec}, {one.newer} beside {one.older}" for one in asked}
    rows = pl.DataFrame(
        [
            {
                "pair": names[one.spec, one.newer],
                "points": one.found.difference,
                "low": one.between[0],
                "high": one.between[1],
            }
            for one in asked
        ]
    )
    single = pl.concat(
        [
            one.houses.select(
                pl.lit(names[one.spec, one.newer]).alias("pair"), "house", pl.col("difference").alias("points")
            ).head(300)
            for one in asked
        ]
    )
    y = Field("pair:N").title(None).sort(list(names.values())).axis(labelLimit=240)
    x = Field("points:Q").title("points")
    tooltip = ["pair", *(told(name, format="+.2f") for name in ("points", "low", "high"))]
    base = on(rows)
    return layer(
        on(pl.DataFrame({"at": [0.0]})).mark("rule", style="reference").encode(x=Field("at:Q")),
        on(single)
        .mark("point", size=14, style="quiet")
        .encode(y=y, x=x, tooltip=["house", told("points", format="+.2f")]),
        base.mark("rule", strokeWidth=2).encode(y=y, x=Field("low:Q"), x2="high:Q", tooltip=tooltip),
        base.mark("point").encode(y=y, x=x, tooltip=tooltip),
    )
