"""Charts drawn to SVG when the page is built."""

import re
from xml.etree import ElementTree

import altair as alt
import polars as pl
import pytest

from sample_document import bar_chart
from stillroom.objects import ReportChart
from stillroom_reports.charts import ChartFault, chart_spec
from stillroom_reports.drawing import NARROW, WIDE, drawings
from stillroom_reports.drawn_before import Drawings


def drawn(chart, name="c"):
    return drawings(chart_spec(chart), name, Drawings())


def a_chart(chart):
    return ReportChart(name="c", title="C", chart=chart)


def test_a_chart_is_drawn_for_a_desk_and_for_a_phone():
    wide, narrow = drawn(bar_chart())
    for svg, width in ((wide, WIDE), (narrow, NARROW)):
        root = ElementTree.fromstring(svg)
        assert float(root.attrib["width"]) == pytest.approx(width, abs=2)


def test_a_chart_of_several_views_is_drawn_once():
    frame = pl.DataFrame({"x": [1, 2], "y": [3, 4], "kind": ["a", "b"]})
    several = alt.Chart(frame).mark_point().encode(x="x", y="y").facet("kind:N")
    wide, narrow = drawn(a_chart(several))
    assert wide.startswith("<svg")
    assert narrow == ""


def test_colours_are_variables_of_the_page_and_numbers_are_short():
    wide, _ = drawn(bar_chart(rows=7))
    assert "var(--normal)" in wide
    assert "#" not in re.sub(r"url\(#[^)]*\)|#c-[^\"]*", "", wide)
    assert not re.search(r"\d\.\d{3,}", wide)


def test_ids_of_two_drawings_differ():
    frame = pl.DataFrame({"x": [1, 2], "y": [3, 4]})
    clipped = a_chart(alt.Chart(frame).mark_line(clip=True).encode(x="x", y="y"))
    ids = [set(re.findall(r'\bid="([^"]+)"', svg)) for name in ("one", "two") for svg in drawn(clipped, name)]
    assert all(ids)
    assert len(set.union(*ids)) == sum(map(len, ids))
    for svg in drawn(clipped, "one"):
        assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(re.findall(r'\bid="([^"]+)"', svg))


def test_what_a_mark_stands_for_is_kept_beside_it():
    wide, _ = drawn(bar_chart())
    assert re.search(r'data-tip="[^"]*drink: Drink 1', wide)


def test_what_cannot_be_drawn_is_a_fault():
    broken = alt.Chart(pl.DataFrame({"a": [1]})).transform_calculate(b="1 +").mark_bar().encode(x="b:Q")
    with pytest.raises(ChartFault, match="the chart library cannot draw it"):
        drawn(a_chart(broken))


def test_a_chart_is_drawn_again_only_where_its_data_changed():
    asked = []

    def draw(key):
        def now():
            asked.append(key)
            return f"<svg>{key}</svg>"

        return now

    first = Drawings()
    assert first.get("one", draw("one")) == "<svg>one</svg>"
    first.keep()
    again = Drawings()
    assert again.get("one", draw("one")) == "<svg>one</svg>"
    assert again.get("two", draw("two")) == "<svg>two</svg>"
    assert asked == ["one", "two"]


def test_a_damaged_cache_costs_only_time(monkeypatch, tmp_path):
    from stillroom_reports import drawn_before

    path = tmp_path / "drawings.json"
    monkeypatch.setattr(drawn_before, "_file", lambda: path)
    path.write_text("nonsense\n{", encoding="utf-8")
    kept = Drawings()
    assert kept.get("k", lambda: "<svg/>") == "<svg/>"
    kept.keep()
    assert Drawings().get("k", lambda: "anew") == "<svg/>"
    path.write_text(path.read_text(encoding="utf-8").replace("svg", "img"), encoding="utf-8")
    assert Drawings().get("k", lambda: "anew") == "anew"
