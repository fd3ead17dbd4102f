"""An invented document that exercises every part of a page."""

import math
from datetime import date, timedelta

import altair as alt
import polars as pl

from sample_review import sample_review
from stillroom.objects import Column, Finding, HouseFacts, Period, Report, ReportChart, ReportResult, ReportTable
from stillroom.objects.findings import Sureness
from stillroom_reports.document import Document, Entry

FIRST = date(2026, 3, 2)
DRINKS = (
    "Orchard Collins", "Smoked Pear Sour", "Bitter Meadow", "Fennel & Grape Highball", "Plum Boulevard",
    "Hay Flip", "Quince No. 4", "Rhubarb Spritz", "Cellar Door", "Walnut Old Way", "Sorrel Cooler",
    "Beet Martinez", "Tomato Leaf Fizz", "Honey Board", "Black Tea Punch", "Caraway Mule", "Salted Apricot",
)  # fmt: skip
PREPARATIONS = ("Pear cordial", "Fennel syrup", "Plum shrub", "Hay cream", "Clarified grape juice", "Rhubarb syrup")


def sample_document() -> Document:
    """Three reports with findings, tables long and short, and charts of the kinds the built-in reports draw."""
    return Document(
        house=HouseFacts(name="The Lantern House", currency="EUR", venues=("Bar", "Garden")),
        period=Period(first=FIRST, last=FIRST + timedelta(days=90), label="Spring menu"),
        entries=(_season(), _expiry(), _panel()),
        facts=(
            ("Till lines read", 48_212),
            ("Rows set aside", 37),
            ("Sales no drink matches", "1.2 % of serves"),
            ("Batches", 214),
            ("Tastings", "6 sessions, 11 panelists"),
            ("Last day in the data", date(2026, 5, 31)),
        ),
        review=sample_review(),
    )


def report(name: str, title: str, question: str) -> Report:
    return Report(name=name, title=title, question=question, needs=(), build=lambda inputs: ReportResult())


def one_report(**result: object) -> Document:
    """A document of a single report with the given parts of a result."""
    entry = Entry(report=report("one", "One", "What?"), result=ReportResult(**result))  # type: ignore[arg-type]
    return Document(
        house=HouseFacts(name="House", currency="EUR"),
        period=Period(first=FIRST, last=FIRST, label="A day"),
        entries=(entry,),
    )


def bar_chart(name: str = "bars", rows: int = 3) -> ReportChart:
    frame = pl.DataFrame({"drink": [f"Drink {n}" for n in range(rows)], "serves": [float(n) for n in range(rows)]})
    chart = alt.Chart(frame).mark_bar().encode(x="serves:Q", y="drink:N")
    return ReportChart(name=name, title=f"Serves of {rows} drinks", chart=chart)


def _season() -> Entry:
    frame = pl.DataFrame(
        [
            {
                "spec": drink, "serves": 2140 - 131 * n, "per_day": (2140 - 131 * n) / 91,
                "net": 2140 * 11.5 - 1500.5 * n, "share": 0.16 - n * 0.0091,
                "contribution": None if n == 9 else 8.9 - 0.43 * n, "change": math.nan if n == 12 else 0.22 - n * 0.041,
                "first_sold": FIRST + timedelta(days=3 * n),
            }
            for n, drink in enumerate(DRINKS)
        ]
    )  # fmt: skip
    weeks = pl.DataFrame(
        [
            {"week": FIRST + timedelta(weeks=week), "spec": drink, "serves": 150 - 18 * n + 9 * math.sin(week + n) * n}
            for n, drink in enumerate(DRINKS[:6])
            for week in range(13)
        ]
    )
    of_weeks, name = alt.Chart(weeks), alt.Y("spec:N", title=None)
    lines = of_weeks.mark_line(point=True).encode(
        x=alt.X("week:T", title="week beginning"),
        y=alt.Y("serves:Q", title="serves per week"),
        color=alt.Color("spec:N", title=None),
    )
    place = alt.Chart(frame).mark_circle().encode(
        x=alt.X("serves:Q", title="serves in the season"),
        y=alt.Y("contribution:Q", title="contribution per serve (EUR)"),
        tooltip=["spec", "serves", "contribution"],
    ) + alt.Chart(pl.DataFrame({"mean": [6.2]})).mark_rule(style="reference").encode(y="mean:Q")
    week = alt.X("week:O", title="week beginning", timeUnit="yearmonthdate")
    heat = of_weeks.mark_rect().encode(x=week, y=name, color="serves:Q")
    findings = (
        _to_do(
            "Smoked Pear Sour", 4200, "Smoked Pear Sour sells well and earns little: 2 009 serves at EUR 4.10 each.",
            "Contribution EUR 4.10 against 6.20 on average; cost from the price list of 1 May 2026.", "sure",
        ),
        _to_do(
            "Hay Flip", 900, "Hay Flip lost a third of its serves in eight weeks.",
            "From 71 to 47 serves a week; 95 % interval −48 to −17 %; 13 weeks, 812 serves.", "likely",
        ),
        Finding(
            sentence="Salted Apricot was on the menu for 11 days: too short to judge.", subject="Salted Apricot",
            evidence="44 serves; about 5 more weeks would show a difference of a fifth.", sureness="cannot tell",
        ),
        *(
            _to_do(
                drink, 300 - n, f"{drink} is priced below what its cost asks for.",
                f"Cost is {31 + n} % of its price; the house's own mark is 22 %.", "likely",
            )
            for n, drink in enumerate(DRINKS[8:13])
        ),
    )  # fmt: skip
    charts = (
        ReportChart(name="weeks", title="Serves per week of the six best sellers", chart=lines),
        ReportChart(
            name="place", title="How well each drink sells, and what a serve of it earns", chart=place,
            note="Drinks without a price for every part are left out.",
        ),
        ReportChart(name="heat", title="Serves per week and drink", chart=heat),
    )  # fmt: skip
    drinks = ReportTable(
        name="drinks", title="Every drink of the season", frame=frame,
        columns={
            "spec": Column(label="Drink"),
            "serves": Column(label="Serves"),
            "per_day": Column(label="Serves a day", decimals=1),
            "net": Column(label="Net sales", unit="EUR", decimals=0),
            "share": Column(label="Share of sales", percent=True, decimals=1),
            "contribution": Column(label="Contribution", unit="EUR/serve", decimals=2),
            "change": Column(label="Change", percent=True, decimals=0, signed=True),
            "first_sold": Column(label="First sold"),
        },
        note="Change: last four weeks against the four before.",
    )  # fmt: skip
    notes = ("Voided lines are taken out.", "Net of tax; days begin at 06:00.")
    return Entry(
        report=report("season", "Season review", "Which drinks earn their place this season, and which do not?"),
        result=ReportResult(findings=findings, charts=charts, tables=(drinks,), notes=notes),
    )


def _expiry() -> Entry:
    frame = pl.DataFrame(
        [
            {"batch": f"PC-{n:03}", "made": FIRST + timedelta(days=6 * n), "fate": fate, "ml": size}
            for n in range(14)
            for fate, size in (("used", 600 + 20 * n), ("poured away", 40 * (n % 4)), ("left at use-by", 380 - 20 * n))
        ]
    )
    bars = alt.Chart(frame).mark_bar()
    stacked = bars.encode(
        x=alt.X("ml:Q", title="ml"), y=alt.Y("batch:N", title=None, sort=None), color=alt.Color("fate:N", title=None)
    )
    fate, size = alt.X("fate:N", title=None), alt.Y("sum(ml):Q", title="ml")
    parts = bars.encode(x=fate, y=size, color=alt.Color("fate:N", legend=None)).properties(height=140)
    months = parts.facet(facet=alt.Facet("month(made):O", title=None), columns=3)
    findings = (
        _to_do(
            "Pear cordial", 412,
            "Pear cordial is made too big: 31 % of what is made is thrown away, EUR 412 this season.",
            "14 batches of 1 000 ml, none used up in time; batches of 600 ml would have lost 4 %.", "sure",
        ),
        _to_do(
            "Hay cream", 120, "Hay cream spoils before its use-by: 3 of 11 batches.",
            "Spoiled on day 3, 4 and 4 of 6; interval 10 to 57 %. Follow your local code.", "likely",
        ),
        _to_do(
            "Plum shrub", 6, "Nobody logged what became of 210 ml of plum shrub.",
            "Batch PS-007, past its use-by on 14 May 2026.", "sure",
        ),
    )  # fmt: skip
    charts = (
        ReportChart(name="batches", title="What became of each batch of pear cordial", chart=stacked),
        ReportChart(name="months", title="What became of pear cordial, month by month", chart=months),
    )
    lost = {
        "preparation": list(PREPARATIONS),
        "made": [14000.0, 9000.0, 6000.0, 4400.0, 12500.0, 800.0],
        "lost": [0.31, 0.12, 0.045, 0.2, 0.0, 0.0],
        "money": [412.2, 61.0, 22.25, 120.0, 0.0, None],
    }
    tables = (
        ReportTable(
            name="preparations", title="Preparations by money lost", frame=pl.DataFrame(lost),
            columns={
                "preparation": Column(label="Preparation"),
                "made": Column(label="Made", unit="ml", decimals=0),
                "lost": Column(label="Lost", percent=True, decimals=1),
                "money": Column(label="Lost", unit="EUR", decimals=2),
            },
        ),
        ReportTable(
            name="at-risk", title="On hand and not likely to be used in time",
            frame=pl.DataFrame(schema={"batch": pl.String}), columns={"batch": Column(label="Batch")},
        ),
    )  # fmt: skip
    notes = ("First made, first used; nothing is used after its use-by.",)
    return Entry(
        report=report("expiry", "Expiry", "What is thrown away, and why?"),
        result=ReportResult(findings=findings, charts=charts, tables=tables, notes=notes),
    )


def _panel() -> Entry:
    frame = pl.DataFrame(
        [
            {"attribute": attribute, "version": f"version {v}", "mean": mean, "low": mean - 0.6, "high": mean + 0.6}
            for attribute, means in (("liking", (5.8, 6.9)), ("sourness", (6.2, 5.9)), ("aroma", (5.1, 5.2)))
            for v, mean in enumerate(means, 2)
        ]
    )
    base = alt.Chart(frame).encode(y=alt.Y("version:N", title=None), color=alt.Color("version:N", legend=None))
    low = alt.X("low:Q", title="mean score of the panel, 0 to 10, with its 95 % interval")
    interval = base.mark_rule(strokeWidth=2).encode(x=low, x2="high:Q")
    dots = (interval + base.mark_point().encode(x="mean:Q")).facet(row=alt.Row("attribute:N", title=None))
    findings = (
        _to_do(
            "Plum Boulevard", 1.1, "Plum Boulevard version 3 is better than version 2 in liking, by 1.1 of 10.",
            "95 % interval 0.4 to 1.8; 11 panelists, 2 sessions; corrected for 3 attributes.", "sure",
        ),
        _to_do(
            "Quince No. 4", 0.2, "Quince No. 4: the panel cannot tell version 2 from version 1.",
            "Difference 0.2, interval −0.7 to 1.1; about 24 more tasters would show 0.5.", "cannot tell",
        ),
    )  # fmt: skip
    chart = ReportChart(name="plum", title="Plum Boulevard, mean score with 95 % interval", chart=dots)
    return Entry(
        report=report("panel", "Panel", "Is one version of a spec really better than another?"),
        result=ReportResult(findings=findings, charts=(chart,), notes=("Panelist is taken out as block.",)),
    )


def _to_do(subject: str, weight: float, sentence: str, evidence: str, sureness: Sureness) -> Finding:
    return Finding(
        sentence=sentence, evidence=evidence, sureness=sureness, act=True, weight=weight, subject=subject
    )  # fmt: skip


HOSTILE = "</script><script>window.harmed=1</script><img src=x onerror=window.harmed=1>\"'&amp;{{7*7}}=1+1"


def hostile_document() -> Document:
    """A document with markup, quotes and a formula in every place where a name can stand."""
    frame = pl.DataFrame({HOSTILE: [HOSTILE, "plain"], "n": [1.0, math.nan]})
    safe = frame.rename({HOSTILE: "name"})
    chart = alt.Chart(safe, title=HOSTILE).mark_bar()
    chart = chart.encode(x=alt.X("n:Q", title=HOSTILE), y=alt.Y("name:N", title=HOSTILE), tooltip=["name", "n"])
    columns = {HOSTILE: Column(label=HOSTILE, unit=HOSTILE), "n": Column(label="n")}
    absent = {f"{HOSTILE}absent": Column(label="?")}
    result = ReportResult(
        findings=(Finding(sentence=HOSTILE, evidence=HOSTILE, subject=HOSTILE, act=True),),
        tables=(
            ReportTable(name=HOSTILE, title=HOSTILE, frame=frame, columns=columns, note=HOSTILE),
            ReportTable(name="../../up", title=HOSTILE, frame=frame, columns=absent),
        ),
        charts=(
            ReportChart(name=HOSTILE, title=HOSTILE, chart=chart, note=HOSTILE),
            ReportChart(name="../../up", title=HOSTILE, chart=None),  # type: ignore[arg-type]
        ),
        notes=(HOSTILE,),
    )
    return Document(
        house=HouseFacts(name=HOSTILE, currency=HOSTILE, venues=(HOSTILE,)),
        period=Period(first=FIRST, last=FIRST, label=HOSTILE),
        entries=(Entry(report=report(HOSTILE, HOSTILE, HOSTILE), result=result),),
        facts=((HOSTILE, HOSTILE),),
        faults=(HOSTILE,),
        review=sample_review(name=f"{HOSTILE} {{}}".replace("{{7*7}}", "{{{{7*7}}}}")),
    )
