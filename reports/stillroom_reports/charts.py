"""From an Altair chart to Vega-Lite JSON that is safe to put on a page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from stillroom_reports.figures import plain_value

if TYPE_CHECKING:
    from stillroom.objects import ReportChart

MOST_ROWS: Final = 5000
"""Rows of data in one chart; more make the page slow and are better summed up first."""

_PARTS: Final = ("hconcat", "vconcat", "concat")


class ChartFault(Exception):
    """A chart cannot be shown; the sentence says why."""


def chart_spec(chart: ReportChart) -> dict[str, Any]:
    """The chart as a Vega-Lite specification, without theme: no NaN, no data from elsewhere, width set.

    Raises:
        ChartFault: the chart is not an Altair chart, cannot be built, has too many rows, or its data lie elsewhere.
    """
    import altair as alt

    if not isinstance(chart.chart, alt.TopLevelMixin):
        raise ChartFault(f"it is a {type(chart.chart).__name__}, not an Altair chart")
    try:
        # What a plugin may have set for the whole process must not change the page.
        with alt.theme.enable("none"), alt.data_transformers.enable("default", max_rows=MOST_ROWS):
            # Altair has checked each part when it was made; to check the whole once more takes longer than to build it.
            raw = chart.chart.to_dict(validate=False)
    except alt.MaxRowsError:
        raise ChartFault(f"it has more than {MOST_ROWS} rows of data; sum them up first") from None
    except Exception as error:  # a plugin's chart: whatever is wrong with it is shown in its place
        raise ChartFault(f"it cannot be built ({type(error).__name__})") from None
    spec = plain_value(raw)
    assert isinstance(spec, dict)
    if _has_url(spec):
        raise ChartFault("its data lie outside the page")
    if not is_compound(spec):  # the page's script sees to the others
        spec["width"] = "container"
    return spec | {"description": chart.title}


def is_compound(spec: dict[str, Any]) -> bool:
    """Whether the chart has several views side by side or below each other."""
    encoding = spec.get("encoding") or {}
    return any(part in spec for part in (*_PARTS, "facet", "repeat")) or any(
        channel in encoding for channel in ("facet", "row", "column")
    )


def _has_url(part: object) -> bool:
    """Whether data are to be fetched from anywhere."""
    if isinstance(part, dict):
        data = part.get("data")
        if isinstance(data, dict) and "url" in data:
            return True
        return any(_has_url(inner) for name, inner in part.items() if name not in {"datasets", "values"})
    return isinstance(part, list) and any(_has_url(inner) for inner in part)
