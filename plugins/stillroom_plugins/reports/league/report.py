"""Report on a group: where the money goes that is lost, by preparation and by house."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from stillroom.analysis.houses.league import by_house, by_preparation
from stillroom.objects import Column, Finding, ReportChart, ReportInputs, ReportResult, ReportTable
from stillroom.words import counted, money, percent
from stillroom_plugins.reports._trusted import trusted
from stillroom_plugins.reports._vega import Field, View, layer, on, step, told

TOLD: Final = 3
CHARTED: Final = 30
NOTES: Final = (
    "Lost: poured away, spoiled or left at its use-by, at what making it cost; of batches made in these weeks, without "
    "what is still on hand. Batches whose parts have no price are not in it.",
    "A house's share is drawn towards the group's by as much as it is unsure, so that a small one does not lead by "
    "chance (hierarchical beta-binomial; Gelman et al. 2013, section 5.3). The ranks are those that 95 in 100 draws of "
    "all houses' shares give: where they reach far, the order says little.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """The heaviest preparations and houses, with tables of all."""
    rows, note = trusted(inputs.frames["waste_money"], inputs.frames["house_books"], "waste")
    currency = inputs.house.currency
    if rows.is_empty():
        found = Finding(
            sentence="Nothing that was made has a price, so no loss is known in money.",
            evidence=NOTES[0],
            sureness="cannot tell",
        )
        return ReportResult(findings=(found,), notes=(*NOTES, *note))
    what = by_preparation(rows.filter(pl.col("preparation").is_not_null()))
    who = by_house(rows.filter(pl.col("preparation").is_null()))
    findings = [
        _of_preparation(row, currency) for row in what.filter(pl.col("lost") > 0).head(TOLD).iter_rows(named=True)
    ]
    return ReportResult(
        findings=(*findings, *_of_houses(who, _heaviest(rows), currency)),
        tables=(_preparations(what, currency), _houses(who, currency)),
        charts=_charts(who),
        notes=(*NOTES, *note),
    )


def _of_preparation(row: dict[str, Any], currency: str) -> Finding:
    return Finding(
        sentence=f"{row['preparation']}: {money(row['lost'], currency)} lost in {counted(row['houses'], 'house')}, "
        f"{percent(row['share'])} of what making it cost.",
        evidence=f"{row['most']} alone lost {money(row['by_most'], currency)}.",
        act=True,
        money=row["lost"],
        do=f"look at how {row['preparation']} is made and kept, first at {row['most']}",
        weight=row["lost"],
    )


def _heaviest(rows: pl.DataFrame) -> dict[str, str]:
    """House -> the preparation of which it loses most."""
    known = rows.filter(pl.col("preparation").is_not_null()).sort("part", "preparation", descending=[True, False])
    return dict(known.group_by("house", maintain_order=True).first().select("house", "preparation").iter_rows())


def _of_houses(who: pl.DataFrame, heaviest: dict[str, str], currency: str) -> list[Finding]:
    """Houses that surely lose more than the rest; where the order says nothing, that it does."""
    houses = who.height
    worst = who.filter(pl.col("beyond") > 0, pl.col("rank_high") <= max(3, houses // 4)).head(TOLD)
    if worst.is_empty():
        leading = who.filter(pl.col("rank_low") <= 1).height
        return [
            Finding(
                sentence="Which house loses the largest share cannot be told.",
                evidence=f"{leading} of {counted(houses, 'house')} may be the first: their ranges of ranks begin "
                "there.",
                sureness="cannot tell",
            )
        ]
    return [
        Finding(
            sentence=f"{row['house']} loses {percent(row['pooled'])} of what its making costs: "
            f"{money(row['beyond'], currency)} more than at the houses' mean share.",
            evidence=f"Between {percent(row['low'])} and {percent(row['high'])}; by that share it is {_rank(row)} of "
            f"{counted(houses, 'house')}.",
            sureness="sure" if row["rank_high"] <= 3 else "likely",
            act=True,
            subject=row["house"],
            do=f"make smaller batches of {heaviest[row['house']]}, of which it loses most",
            money=row["beyond"],
            weight=row["beyond"],
        )
        for row in worst.iter_rows(named=True)
    ]


def _rank(row: dict[str, Any]) -> str:
    low, high = row["rank_low"], row["rank_high"]
    return f"number {low}" if low == high else f"between number {low} and number {high}"


def _preparations(what: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="preparations",
        title="What each preparation loses in all houses",
        frame=what,
        columns={
            "preparation": Column(label="Preparation"),
            "houses": Column(label="Houses"),
            "made": Column(label="Making cost", unit=currency, decimals=0),
            "lost": Column(label="Lost", unit=currency, decimals=0),
            "share": Column(label="Lost", percent=True, decimals=1),
            "most": Column(label="Most at"),
            "by_most": Column(label="there", unit=currency, decimals=0),
        },
    )


def _houses(who: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="houses",
        title="Lost in money, by house; most beyond the houses' mean share first",
        frame=who,
        columns={
            "house": Column(label="House"),
            "made": Column(label="Making cost", unit=currency, decimals=0),
            "lost": Column(label="Lost", unit=currency, decimals=0),
            "share": Column(label="Lost", percent=True, decimals=1),
            "pooled": Column(label="Drawn to the group", percent=True, decimals=1),
            "low": Column(label="from", percent=True, decimals=1),
            "high": Column(label="to", percent=True, decimals=1),
            "beyond": Column(label="Beyond the mean", unit=currency, decimals=0, signed=True),
            "rank_low": Column(label="Rank from"),
            "rank_high": Column(label="to"),
        },
        subjects="house",
    )


def _charts(who: pl.DataFrame) -> tuple[ReportChart, ...]:
    if who.height < 2:
        return ()
    more = who.height > CHARTED
    return (
        ReportChart(
            name="ranks",
            title="The rank that each house may have by the share that it loses",
            chart=_ranks(who.sort("pooled", descending=True).head(CHARTED)).chart(),
            note=f"1 loses most. The {CHARTED} that seem to lose most." if more else "1 loses most.",
        ),
    )


def _ranks(rows: pl.DataFrame) -> View:
    base = on(rows.select("house", "rank_low", "rank_high", "pooled"))
    y = Field("house:N").title(None).sort(rows["house"].to_list()).axis(ticks=False, domain=False)
    x = Field("rank_low:Q").title("rank").scale(zero=False, nice=False, padding=8).axis(tickMinStep=1)
    tooltip = ["house", "rank_low", "rank_high", told("pooled", title="share lost", format=".1%")]
    return layer(
        base.mark("rule", strokeWidth=3).encode(y=y, x=x, x2="rank_high:Q", tooltip=tooltip),
        base.mark("point").encode(y=y, x=x, tooltip=tooltip),
        base.mark("point").encode(y=y, x=Field("rank_high:Q"), tooltip=tooltip),
    ).properties(height=step(20))
