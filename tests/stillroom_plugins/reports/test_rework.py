"""The rework report on a small house with known answers."""

from dataclasses import replace

import polars as pl
import pytest

from rework_frames import PERIOD, inputs
from stillroom.objects import ReportInputs, ReportResult
from stillroom_plugins.reports.rework import register_reports
from stillroom_plugins.reports.rework.report import build
from vega_lite import checked

CHEAPEST_SIZE = "make batches of the size that its sheet says costs least"


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def test_each_field_asks_for_its_own(result: ReportResult) -> None:
    frame = next(table.frame for table in result.tables if table.name == "shortlist")
    asked = dict(zip(frame["subject"], frame["do"], strict=True))
    assert asked["Dear Sour"] == "a cheaper build or another price"
    # Batches of 1 000 ml, of 90 ml a day, that keep 7 days: too big, and told as the expiry report tells it.
    assert asked["Shrub"] == CHEAPEST_SIZE
    assert asked["Good Fizz"] == "put version 2 into service"
    assert "Gone Flip" not in asked  # it is off the menu
    money = dict(zip(frame["subject"], frame["money"], strict=True))
    assert money["Shrub"] == pytest.approx(sum(400 - 5 * n for n in range(10)) / 100)
    assert money["Good Fizz"] is None
    assert frame["subject"][0] == "Dear Sour"


def test_what_the_money_stands_for_is_said(result: ReportResult) -> None:
    said = {f.subject: f.sentence for f in result.findings}
    assert said["Dear Sour"].endswith("less than as many average serves would have.")
    assert said["Shrub"] == f"Shrub: {CHEAPEST_SIZE}. EUR 37.75 was lost, at cost."


def test_where_the_till_tells_of_no_sale_what_was_lost_cannot_be_told() -> None:
    some = inputs()
    none = some.frames["daily_serves"].with_columns(serves=pl.lit(-1.0))
    found = build(replace(some, frames={**some.frames, "daily_serves": none}))
    (finding,) = [f for f in found.findings if f.subject == "Shrub"]
    assert (finding.do, finding.sureness, finding.act) == ("take in the till's export", "cannot tell", False)


def test_evidence_stands_side_by_side(result: ReportResult) -> None:
    finding = next(f for f in result.findings if f.subject == "Good Fizz")
    for field in ("sales: ", "margin: ", "panel: version 2 liked"):
        assert field in finding.evidence


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    assert [chart.name for chart in result.charts] == ["money"]
    checked(result.charts[0])


def test_an_empty_house_asks_for_nothing() -> None:
    some = inputs()
    none = {name: frame.clear() for name, frame in some.frames.items()}
    found = build(ReportInputs(frames=none, period=PERIOD, house=some.house))
    assert [f.sentence for f in found.findings] == ["Nothing asks to be reworked in autumn."]
    assert [f.sureness for f in found.findings] == ["cannot tell"]  # nothing was looked at


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs().frames)
