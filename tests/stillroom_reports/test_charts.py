import json
from datetime import date

import altair as alt
import polars as pl
import pytest

from sample_document import bar_chart
from stillroom.objects import ReportChart
from stillroom_reports.charts import MOST_ROWS, ChartFault, chart_spec, is_compound

FRAME = pl.DataFrame({"day": [date(2026, 3, 2), date(2026, 3, 3)], "serves": [1.5, float("nan")]})


def _chart(chart, title="What it shows"):
    return ReportChart(name="c", title=title, chart=chart)


def _rows(spec):
    (rows,) = spec["datasets"].values()
    return rows


def test_what_is_not_a_number_becomes_null():
    chart = alt.Chart(FRAME).mark_bar().encode(x="day:T", y="serves:Q")
    inline = alt.Chart(alt.Data(values=[{"y": float("inf")}])).mark_bar().encode(y="y:Q")
    assert [row["serves"] for row in _rows(chart_spec(_chart(chart)))] == [1.5, None]
    assert chart_spec(_chart(inline))["data"]["values"] == [{"y": None}]
    json.dumps(chart_spec(_chart(chart)), allow_nan=False)


def test_a_single_view_follows_the_page_and_panels_are_left_to_its_script():
    single = chart_spec(bar_chart())
    facet = alt.Chart(FRAME).mark_bar().encode(x="serves:Q", row="day:O")
    assert single["width"] == "container"
    assert single["description"] == "Serves of 3 drinks"
    assert not is_compound(single)
    for compound in (facet, bar_chart().chart | bar_chart().chart, bar_chart().chart.facet("drink:N")):
        spec = chart_spec(_chart(compound))
        assert is_compound(spec)
        assert "width" not in spec


def test_no_theme_of_anybody_reaches_the_page():
    plain = chart_spec(bar_chart())
    with alt.theme.enable("dark"):
        assert chart_spec(bar_chart()) == plain


def test_the_limit_of_rows_holds_whatever_a_plugin_has_set():
    with alt.data_transformers.enable("default", max_rows=None):
        assert len(_rows(chart_spec(bar_chart(rows=MOST_ROWS)))) == MOST_ROWS
        with pytest.raises(ChartFault, match="more than 5000 rows"):
            chart_spec(bar_chart(rows=MOST_ROWS + 1))


@pytest.mark.parametrize(
    ("chart", "why"),
    [
        (None, "a NoneType, not an Altair chart"),
        ([{"mark": "bar"}], "a list, not an Altair chart"),
        ({"mark": "bar", "data": {"url": "https://example.org/data.csv"}}, "outside the page"),
        ({"layer": [{"mark": "bar", "data": {"values": [{}] * (MOST_ROWS + 1)}}]}, "more than 5000 rows"),
        ({"mark": "bar", "data": {"name": "a"}, "datasets": {"a": [{}] * (MOST_ROWS + 1)}}, "more than 5000 rows"),
        (alt.Chart(FRAME).mark_bar().encode(x="absent"), "cannot be built"),
        (alt.Chart("https://example.org/data.csv").mark_bar().encode(x="a:Q"), "outside the page"),
        (alt.layer(alt.Chart(alt.UrlData("data.json")).mark_bar().encode(x="a:Q")), "outside the page"),
    ],
)
def test_a_chart_that_cannot_be_shown_says_why(chart, why):
    with pytest.raises(ChartFault, match=why):
        chart_spec(_chart(chart))


def test_a_specification_of_vega_lite_does_as_well():
    spec = {"mark": "bar", "data": {"values": [{"a": float("nan")}]}, "encoding": {"x": {"field": "a"}}}
    shown = chart_spec(_chart(spec))
    assert (shown["data"], shown["width"]) == ({"values": [{"a": None}]}, "container")
    assert "width" not in spec  # it is the plugin's


def test_a_column_called_url_is_only_a_column():
    frame = pl.DataFrame({"url": ["a"], "data": ["b"]})
    assert _rows(chart_spec(_chart(alt.Chart(frame).mark_bar().encode(x="url:N"))))[0]["url"] == "a"
