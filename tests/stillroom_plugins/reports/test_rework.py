"""The rework report on a small house with known answers."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest

from batch_frames import FATE
from spec_frames import spec_views
from stillroom.analysis.batches.waste import FATES
from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.rework import register_reports
from stillroom_plugins.reports.rework.report import build

FIRST = date(2026, 8, 24)
LAST = FIRST + timedelta(days=90)
PERIOD = Period(first=FIRST, last=LAST, label="autumn")
SALES = {"venue": pl.String, "business_date": pl.Date, "spec": pl.String, "version": pl.Int64}
SALES |= {"serves": pl.Float64, "net_amount": pl.Float64, "lines": pl.Int64}
SPEC: dict[str, Any] = {"spec": pl.String, "version": pl.Int64, "kind": pl.String}
SPEC |= {"in_service_from": pl.Date, "in_service_until": pl.Date}
COST: dict[str, Any] = {"spec": pl.String, "version": pl.Int64, "priced_from": pl.Date, "cost": pl.Float64}
COST |= {"cost_known": pl.Float64, "missing": pl.String}
SCORES: dict[str, Any] = {"session": pl.String, "tasted_on": pl.Date, "panelist": pl.String, "spec": pl.String}
SCORES |= {"version": pl.Int64, "attribute": pl.String, "score": pl.Float64, "scale_low": pl.Float64}
SCORES |= {"scale_high": pl.Float64, "scale_kind": pl.String, "position": pl.Int64, "code": pl.String}
SCORES |= {"replicate": pl.Int64}


def inputs() -> ReportInputs:
    generator = np.random.default_rng(4)
    drinks = {"Dear Sour": (15, 8.0, 6.0), "Good Fizz": (20, 11.0, 2.0), "Gone Flip": (1, 8.0, 6.0)}
    sold = [
        ("bar", FIRST + timedelta(days=day), name, 1, float(serves), serves * price, 3)
        for day in range(91)
        for name, (mean, price, _) in drinks.items()
        if (serves := generator.poisson(mean)) and not (name == "Gone Flip" and day > 50)
    ]
    specs = [(name, 1, "drink", FIRST, FIRST + timedelta(days=50) if name == "Gone Flip" else None) for name in drinks]
    specs += [("Good Fizz", 2, "drink", None, None), ("Shrub", 1, "preparation", FIRST, None)]
    batches = []
    for n in range(10):
        made = FIRST + timedelta(days=7 * n)
        until = made + timedelta(days=6)
        lost = 400.0 - 5 * n
        told = {
            "batch": f"S{n}",
            "venue": "bar",
            "preparation": "Shrub",
            "version": 1,
            "made_on": made,
            "use_by": until,
        }
        told |= {"made": 1000.0, **dict.fromkeys(FATES, 0.0), "used": 1000.0 - lost, "poured_away": lost, "unit": "ml"}
        batches.append(told | {"ended_on": until, "cost_made": 10.0, "cost_lost": lost / 100, "last_day": LAST})
    tasted = FIRST + timedelta(days=30)
    scores = [
        ("s1", tasted, f"P{p}", "Good Fizz", version, "overall", score, 1.0, 9.0, "liking", None, None, None)
        for p in range(10)
        for version, score in ((1, 4.0 + p % 3), (2, 6.0 + p % 3 + 0.5 * (p % 2)))
    ]
    costs = [(name, 1, FIRST, cost, cost, None) for name, (_, _, cost) in drinks.items()]
    frames = {
        "daily_serves": pl.DataFrame(sold, schema=SALES, orient="row"),
        **spec_views(pl.DataFrame(specs, schema=SPEC, orient="row"), "current_spec", "version_span"),
        "spec_cost": pl.DataFrame(costs, schema=COST, orient="row"),
        "batch_fate": pl.DataFrame(batches, schema=FATE),
        "panel_scores": pl.DataFrame(scores, schema=SCORES, orient="row"),
    }
    return ReportInputs(frames=frames, period=PERIOD, house=HouseFacts(name="Test", currency="EUR"))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def test_each_field_asks_for_its_own(result: ReportResult) -> None:
    frame = next(table.frame for table in result.tables if table.name == "shortlist")
    asked = dict(zip(frame["subject"], frame["do"], strict=True))
    assert asked["Dear Sour"] == "a cheaper build or another price"
    assert asked["Shrub"] == "smaller or fewer batches"
    assert asked["Good Fizz"] == "put version 2 into service"
    assert "Gone Flip" not in asked  # it is off the menu
    money = dict(zip(frame["subject"], frame["money"], strict=True))
    assert money["Shrub"] == pytest.approx(sum(400 - 5 * n for n in range(10)) / 100)
    assert money["Good Fizz"] is None
    assert frame["subject"][0] == "Dear Sour"


def test_what_the_money_stands_for_is_said(result: ReportResult) -> None:
    said = {f.subject: f.sentence for f in result.findings}
    assert said["Dear Sour"].endswith("less than as many average serves would have.")
    assert said["Shrub"] == "Shrub: smaller or fewer batches. EUR 37.75 was lost, at cost."


def test_evidence_stands_side_by_side(result: ReportResult) -> None:
    finding = next(f for f in result.findings if f.subject == "Good Fizz")
    for field in ("sales: ", "margin: ", "panel: version 2 liked"):
        assert field in finding.evidence


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    assert [chart.name for chart in result.charts] == ["money"]
    assert "NaN" not in result.charts[0].chart.to_json()


def test_an_empty_house_asks_for_nothing() -> None:
    some = inputs()
    none = {name: frame.clear() for name, frame in some.frames.items()}
    found = build(ReportInputs(frames=none, period=PERIOD, house=some.house))
    assert [f.sentence for f in found.findings] == ["Nothing asks to be reworked in autumn."]
    assert [f.sureness for f in found.findings] == ["cannot tell"]  # nothing was looked at


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs().frames)
