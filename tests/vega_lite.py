"""Charts that built-in reports write as Vega-Lite: what Altair, whose schema it is, says of them."""

from __future__ import annotations

import json
from typing import Any

import altair as alt

from stillroom.objects import ReportChart
from stillroom_reports.charts import chart_spec


def checked(chart: ReportChart) -> dict[str, Any]:
    """The chart's specification, which Altair has checked whole against Vega-Lite's schema, and which holds no NaN."""
    assert isinstance(chart.chart, dict)
    alt.Chart.from_dict(chart.chart, validate=True)
    json.dumps(chart_spec(chart), allow_nan=False)
    return chart.chart
