"""The panel report's part on the panelists themselves, by code unless the settings ask for names."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.panel.panelists import panel_agreement, panelist_codes, panelist_performance
from stillroom.glossary import named
from stillroom.objects import Column, ReportChart, ReportTable
from stillroom_plugins.reports._vega import Field, View, hconcat, layer, on, step

MOST_DRAWN: Final = 40
"""Panelists on the chart; a hundred dots with names are no picture."""


def by_code(scores: pl.DataFrame) -> pl.DataFrame:
    """The scores with a code for each panelist's name."""
    codes = panelist_codes(scores["panelist"].unique().to_list())
    return scores.with_columns(pl.col("panelist").replace_strict(codes, return_dtype=pl.String))


def taster_results(scores: pl.DataFrame) -> tuple[tuple[ReportTable, ...], tuple[ReportChart, ...]]:
    """Tables of the panel's agreement and of each panelist, and a chart of the panelists."""
    performance = panelist_performance(scores).sort("panelist")
    tables = [_performance_table(performance), _agreement_table(panel_agreement(scores))]
    drawn = performance.filter(pl.col("agreement").is_not_null())
    charts = (_chart(drawn),) if 1 < drawn.height <= MOST_DRAWN else ()
    return tuple(table for table in tables if table.frame.height), charts


def _performance_table(performance: pl.DataFrame) -> ReportTable:
    columns = {
        "panelist": Column(label="Panelist"),
        **named("scores"),
        "agreement": Column(label="Agreement with the rest", decimals=2, signed=True),
        "level": Column(label="Level against the rest", unit="points", decimals=2, signed=True),
        "spread": Column(label="Use of the scale", decimals=2),
        "repeatability": Column(label="Repeatability", unit="SD, points", decimals=2),
        "discrimination_f": Column(label="Discrimination, F", decimals=2),
        "discrimination_p": Column(label="p", decimals=4, p_value=True),
    }
    for name in ("repeatability", "discrimination_f", "discrimination_p"):
        if performance[name].null_count() == performance.height:
            del columns[name]
    return ReportTable(
        name="panelists",
        title="The panelists",
        frame=performance,
        statistics=True,
        columns=columns,
        note="Agreement: correlation of one's differences between versions with the others' mean, from −1 to 1. Level: "
        "how much higher one scores than the others. Use of the scale: 1 = differences as wide as the others'. "
        "Repeatability and discrimination need samples tasted more than once. None of it is a verdict on anybody's "
        "palate: few samples make all of it uncertain.",
    )


def _agreement_table(agreement: pl.DataFrame) -> ReportTable:
    columns = {
        **named("spec", "attribute", "session", "panelists", "versions"),
        "tasted_all": Column(label="Tasted every version"),
        "kendall_w": Column(label="Kendall's W", decimals=3),
        "form": Column(label="Form"),
        "icc": Column(label="Intraclass correlation", decimals=3),
        "low": Column(label="from", decimals=3),
        "high": Column(label="to", decimals=3),
    }
    if (agreement["tasted_all"] == agreement["panelists"]).all():
        del columns["tasted_all"]
        gaps = ""
    else:
        gaps = (
            " Intraclass correlations are estimated from all scores where some tasters missed a version (by restricted "
            "maximum likelihood; their intervals are approximate, and ICC(1,k) to ICC(3,k) then speak of a mean of all "
            "panelists, had all tasted every version). Kendall's W is from those who tasted every version, and empty "
            "with fewer than two of them."
        )
    return ReportTable(
        name="agreement",
        title="Does the panel agree?",
        frame=agreement,
        subjects="spec",
        statistics=True,
        columns=columns,
        note="Kendall's W: 0 no agreement on the order, 1 full. Forms after Shrout & Fleiss; ICC(2,1): one panelist's "
        "scores, ICC(2,k): the panel's mean. With two or three versions the intervals are wide, and versions that are "
        "truly alike leave nothing to agree on." + gaps,
    )


def _chart(drawn: pl.DataFrame) -> ReportChart:
    base = on(drawn.select("panelist", "agreement", "level"))
    y = Field("panelist:N").title(None).sort(drawn["panelist"].to_list())

    def column(field: str, title: str, domain: list[float] | None) -> View:
        scale: dict[str, Any] = {"domain": domain} if domain else {"zero": True, "nice": True}
        zero = on(pl.DataFrame({"none": [0.0]})).mark("rule", strokeDash=[4, 4]).encode(x=Field("none:Q"))
        dots = base.mark("point", filled=True, size=70, opacity=1).encode(
            x=Field(f"{field}:Q").title(title).scale(**scale), y=y
        )
        return layer(zero, dots).properties(width=230, height=step(16))

    return ReportChart(
        name="panelists",
        statistics=True,
        title="The panelists, side by side",
        chart=hconcat(
            column("agreement", "agreement with the rest, −1 to 1", [-1, 1]),
            column("level", "level against the rest, points", None),
        ).chart(),
        note="In the order of the codes, not of merit.",
    )
