"""From an Altair chart to Vega-Lite JSON that is safe to put on a page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

from stillroom_reports.figures import plain_value

if TYPE_CHECKING:
    from stillroom.objects import ReportChart

MOST_ROWS: Final = 5000
"""Rows of data in one chart; more make the page slow and are better summed up first."""

TOO_MANY: Final = f"it has more than {MOST_ROWS} rows of data; sum them up first"

_PARTS: Final = ("hconcat", "vconcat", "concat")


class ChartFault(Exception):
    """A chart cannot be shown; the sentence says why."""


def chart_spec(chart: ReportChart) -> dict[str, Any]:
    """The chart as a Vega-Lite specification, without theme: no NaN, no data from elsewhere, width set.

    Raises:
        ChartFault: the chart is neither a Vega-Lite specification nor an Altair chart, cannot be built, has too many
            rows, or its data lie elsewhere.
    """
    raw = chart.chart if isinstance(chart.chart, dict) else _of_altair(chart.chart)
    spec = plain_value(raw)
    assert isinstance(spec, dict)
    for data in _data(spec):
        if "url" in data:
            raise ChartFault("its data lie outside the page")
        if any(isinstance(rows, list) and len(rows) > MOST_ROWS for rows in data.values()):
            raise ChartFault(TOO_MANY)
    if not is_compound(spec):  # the page's script sees to the others
        spec["width"] = "container"
    return spec | {"description": chart.title}


def _of_altair(chart: object) -> dict[str, Any]:
    import altair as alt

    if not isinstance(chart, alt.TopLevelMixin):
        raise ChartFault(f"it is a {type(chart).__name__}, not an Altair chart")
    try:
        # What a plugin may have set for the whole process must not change the page.
        with alt.theme.enable("none"), alt.data_transformers.enable("default", max_rows=MOST_ROWS):
            # Altair has checked each part when it was made; to check the whole once more takes longer than to build it.
            return chart.to_dict(validate=False)
    except alt.MaxRowsError:
        raise ChartFault(TOO_MANY) from None
    except Exception as error:  # a plugin's chart: whatever is wrong with it is shown in its place
        raise ChartFault(f"it cannot be built ({type(error).__name__})") from None


def is_compound(spec: dict[str, Any]) -> bool:
    """Whether the chart has several views side by side or below each other."""
    encoding = spec.get("encoding") or {}
    return any(part in spec for part in (*_PARTS, "facet", "repeat")) or any(
        channel in encoding for channel in ("facet", "row", "column")
    )


def _data(part: object) -> Iterator[dict[str, Any]]:
    """What a specification says of its data, wherever it stands: an address, a name, or rows; and rows by name."""
    if isinstance(part, dict):
        for name, inner in part.items():
            if name in ("data", "datasets"):
                yield inner if isinstance(inner, dict) else {}
            else:
                yield from _data(inner)
    elif isinstance(part, list):
        for inner in part:
            yield from _data(inner)
