"""The change report on a simulated house with known truth."""

from datetime import date, timedelta

import numpy as np
import pytest

from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.change import register_reports
from stillroom_plugins.reports.change.report import build
from store_frames import frame
from vega_lite import checked

FIRST = date(2026, 8, 24)
DAY = FIRST + timedelta(days=42)
PERIOD = Period(first=FIRST, last=FIRST + timedelta(days=90), label="autumn")
DRINKS = {"Better": 1.6, "Worse": 0.6, "Same": 1.0, "Calm A": 1.0, "Calm B": 1.0, "Calm C": 1.0, "Calm D": 1.0}
SPEC = "spec version kind price in_service_from in_service_until"


def inputs(period: Period = PERIOD) -> ReportInputs:
    generator = np.random.default_rng(12)
    rows = [
        ("bar", FIRST + timedelta(days=day), name, float(generator.poisson(12 * (lift if day >= 42 else 1))))
        for day in range(91)
        for name, lift in DRINKS.items()
    ]
    specs = [(name, 1, "drink", 12.0, FIRST, None) for name in DRINKS]
    specs += [("Better", 2, "drink", 12.0, DAY, None), ("Worse", 2, "drink", 12.0, DAY, None)]
    specs += [
        ("Same", 2, "drink", 13.0, DAY, None),
        ("Calm A", 2, "drink", 12.0, PERIOD.last - timedelta(days=2), None),
    ]
    frames = {
        "daily_serves": frame("daily_serves", rows, "venue business_date spec serves"),
        "current_spec": frame("current_spec", specs, SPEC),
        "preparation_use": frame("preparation_use"),
    }
    return ReportInputs(frames=frames, period=period, house=HouseFacts(name="Test", currency="EUR"))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def test_known_truths_are_said(result: ReportResult) -> None:
    about = {finding.subject: finding for finding in result.findings}
    assert "more than version 1 did" in about["Better"].sentence
    assert not about["Better"].act
    assert "less than version 1 did" in about["Worse"].sentence
    assert about["Worse"].act
    assert about["Same"].sureness == "cannot tell"
    assert "price changed with it" in about["Same"].evidence
    assert "open days before and 3 after" in about["Calm A"].evidence


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    assert [chart.name for chart in result.charts] == ["ratios", "weeks"]
    for chart in result.charts:
        checked(chart)


def test_no_change_and_no_sales() -> None:
    before = Period(first=FIRST - timedelta(days=90), last=FIRST - timedelta(days=1), label="summer")
    assert build(inputs(before)).findings[0].sentence == "No new version went into service in summer."
    some = inputs()
    none = {**some.frames, "daily_serves": some.frames["daily_serves"].clear()}
    found = build(ReportInputs(frames=none, period=PERIOD, house=some.house))
    assert {finding.sureness for finding in found.findings} == {"cannot tell"}
    assert found.charts == ()


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs().frames)
