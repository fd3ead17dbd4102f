"""What the built-in reports write as Vega-Lite is what Altair writes of the same words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import altair as alt
import polars as pl

from stillroom_plugins.reports._vega import Field, concat, hconcat, layer, on, step, told

FRAME = pl.DataFrame(
    {
        "day": [date(2026, 3, 2), date(2026, 3, 3)],
        "drink": ["A", "B"],
        "serves": [3, 4],
        "price": [Decimal("9.50"), None],
        "low": [1.0, 2.5],
        "high": [3.5, 6.0],
    }
)
LEVEL = pl.DataFrame({"at": [2.0]})


def _rested(spec: Any, rows: dict[str, Any] | None = None) -> Any:
    """A specification with each frame in its place, and without what says by whom it was written."""
    if isinstance(spec, dict):
        rows = spec.get("datasets", rows)
        return {
            name: rows[part["name"]] if name == "data" and rows else _rested(part, rows)
            for name, part in spec.items()
            if name not in ("datasets", "$schema", "config")
        }
    return [_rested(part, rows) for part in spec] if isinstance(spec, list) else spec


def _alike(ours: dict[str, Any], theirs: Any) -> None:
    with alt.theme.enable("none"):
        assert _rested(ours) == _rested(theirs.to_dict())


def test_layers_on_one_frame_and_on_several() -> None:
    ours, theirs = on(FRAME, title="Rows", width=200), alt.Chart(FRAME, title="Rows", width=200)
    y, their_y = Field("drink:N").title(None).sort(["B", "A"]), alt.Y("drink:N").title(None).sort(["B", "A"])
    bars = ours.mark("rule", opacity=0.5).encode(x=Field("low:Q").scale(zero=False), x2="high:Q", y=y)
    their_bars = theirs.mark_rule(opacity=0.5).encode(x=alt.X("low:Q").scale(zero=False), x2="high:Q", y=their_y)
    dots = ours.mark("point").encode(
        x="serves", y=y, color=Field("drink").legend(), tooltip=["day", told("price", title="price", format=".2f")]
    )
    their_dots = theirs.mark_point().encode(
        x="serves",
        y=their_y,
        color=alt.Color("drink").legend(None),
        tooltip=["day", alt.Tooltip("price", title="price", format=".2f")],
    )
    _alike(layer(bars, dots).chart(), alt.layer(their_bars, their_dots))
    mark = on(LEVEL).mark("rule", style="reference").encode(x=Field("at:Q").axis(grid=False))
    their_mark = alt.Chart(LEVEL).mark_rule(style="reference").encode(x=alt.X("at:Q").axis(grid=False))
    _alike(
        layer(mark, bars).properties(height=step(9)).chart(),
        alt.layer(their_mark, their_bars).properties(height=alt.Step(9)),
    )


def test_views_beside_one_another_and_one_for_each_value() -> None:
    one, theirs = on(FRAME).mark("bar").encode(x="serves:Q"), alt.Chart(FRAME).mark_bar().encode(x="serves:Q")
    _alike(concat(one, one.mark("line"), columns=2).chart(), alt.concat(theirs, theirs.mark_line(), columns=2))
    other, their_other = on(LEVEL).mark("tick").encode(x="at:Q"), alt.Chart(LEVEL).mark_tick().encode(x="at:Q")
    _alike(hconcat(one, other).chart(), alt.hconcat(theirs, their_other))
    by, their_by = Field("drink:N").title(None), alt.Facet("drink:N").title(None)
    _alike(
        layer(one, one.mark("tick")).properties(width=90).facet(by, columns=2).chart(),
        alt.layer(theirs, theirs.mark_tick()).properties(width=90).facet(facet=their_by, columns=2),
    )


def test_rows_that_are_left_out() -> None:
    ours = on(FRAME).mark("text").encode(text="drink:N").where("(datum.serves === 3)")
    _alike(ours.chart(), alt.Chart(FRAME).mark_text().encode(text="drink:N").transform_filter(alt.datum.serves == 3))
