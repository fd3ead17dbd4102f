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


FRAME = pl.DataFrame(
    {"x": [1, 2], "y": [3, 4], "kind": ["a", "b"], "title": ["longer than a line of a title " * 3] * 2}
)
DOTS = alt.Chart(FRAME).mark_point().encode(x="x", y="y", tooltip="title")


@pytest.mark.parametrize(
    "several",
    [
        DOTS.properties(width=260).facet("kind:N"),
        DOTS.properties(width=260).facet("kind:N", columns=2),
        DOTS.encode(facet=alt.Facet("kind:N", columns=2)).properties(width=260),
        alt.hconcat(DOTS.properties(width=300), DOTS.properties(width=300)),
        alt.concat(DOTS.properties(width=300), DOTS.properties(width=300), columns=2),
    ],
)
def test_on_a_phone_several_views_stand_one_below_another(several):
    wide, narrow = (ElementTree.fromstring(svg) for svg in drawn(a_chart(several)))
    assert float(narrow.attrib["width"]) <= NARROW < float(wide.attrib["width"])
    assert float(narrow.attrib["height"]) > 1.5 * float(wide.attrib["height"])


def test_views_that_are_too_wide_for_a_phone_are_drawn_once():
    across = DOTS.properties(width=260).encode(column="kind:N")
    assert drawn(a_chart(across))[1] == ""


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
