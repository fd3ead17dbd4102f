"""A report's chart drawn to SVG when the page is built: it stands without scripts and prints whole."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from importlib.metadata import version
from typing import Any, Final

from stillroom_reports import theme
from stillroom_reports.charts import ChartFault, is_compound
from stillroom_reports.drawn_before import Drawings

VEGA_LITE: Final = "6.4"
"""Version of Vega-Lite that draws; Altair writes for it."""
WIDE: Final = 600
"""Width in pixels of a chart at a desk, axes and all; two stand side by side."""
NARROW: Final = 340
"""The same on a phone."""
NARROW_LABELS: Final = 110
"""Widest label beside an axis where room is short, in pixels."""
TITLE: Final = 30
"""Letters of an axis title that fit a narrow chart."""
VIEW: Final = 210
"""Widest of several views on a phone, without its axis."""

_NUMBER: Final = re.compile(r"-?\d+\.\d{2,}(?:e-\d+)?")
_NOTHING: Final = re.compile(
    r'<path class="(?:background|foreground)"[^>]*(?:d="M0,0h0v0h0Z"|display="none")[^>]*/>'
    r'|<text[^>]*\bopacity="0"[^>]*>[^<]*</text>'
    r'|<line[^>]*\bopacity="0"[^>]*/>'
)
_DEFAULTS: Final = re.compile(
    r' (?:class="(?!marks)[^"]*"|aria-roledescription="[^"]*"|aria-hidden="true"|role="[^"]*"|pointer-events="none"'
    r'|font-family="[^"]*"|font-size="13px"|font-weight="normal"|opacity="1"|stroke-miterlimit="10"|stroke-width="1"'
    r'|xmlns:xlink="[^"]*"|version="1.1"|transform="translate\(0,0\)")'
)
_LABEL: Final = re.compile(r' aria-label="([^"]*)"')
_WIDTH: Final = re.compile(r'<svg\b[^>]*?\bwidth="([\d.]+)"')
_ID: Final = re.compile(r'\bid="([^"]+)"')
_EMPTY: Final = re.compile(r"<g>\s*</g>")
_AXIS: Final = ("X-axis", "Y-axis", "Symbol legend", "Gradient legend", "Title text", "Header")


def drawings(spec: dict[str, Any], name: str, before: Drawings) -> tuple[str, str]:
    """A chart drawn for a desk and for a phone; the second is '' where views stay too wide for one.

    A chart of several views is drawn as its author sized it, and for a phone with one view below another.

    Args:
        spec: a Vega-Lite specification from `charts.chart_spec`.
        name: an HTML id of the page, before every id in the drawing.
        before: where those drawn before are.

    Raises:
        ChartFault: the chart library cannot draw it.
    """
    if is_compound(spec):
        stacked = _drawn(_narrowed(_stacked(spec)), f"{name}-n", before)
        return _drawn(spec, f"{name}-w", before), stacked if drawn_width(stacked) < NARROW + 1 else ""
    narrow = _narrowed(_fitted(spec, NARROW))
    return _drawn(_fitted(spec, WIDE), f"{name}-w", before), _drawn(narrow, f"{name}-n", before)


def drawn_width(svg: str) -> float:
    """How wide a drawing is, in pixels."""
    found = _WIDTH.match(svg)
    assert found is not None
    return float(found[1])


def _stacked(spec: dict[str, Any]) -> dict[str, Any]:
    """Several views, one below another and none wider than a phone."""
    spec = {("vconcat" if name == "hconcat" else name): value for name, value in spec.items()}
    if any(part in spec for part in ("facet", "repeat", "concat")):
        spec["columns"] = 1
    stacked: dict[str, Any] = _changed(
        spec, {"width": lambda width: min(width, VIEW) if isinstance(width, int | float) else width}
    )
    return stacked


def _fitted(spec: dict[str, Any], width: int) -> dict[str, Any]:
    return spec | {"width": width, "autosize": {"type": "fit-x", "contains": "padding"}}


def _narrowed(spec: dict[str, Any]) -> dict[str, Any]:
    """The same for little room: short labels, legends below one another, titles in several lines."""
    legend = {"columns": 1, "labelLimit": NARROW - 60}
    config = {"axisY": {"labelLimit": NARROW_LABELS}, "axisX": {"tickCount": 4}, "legend": legend}
    narrow: dict[str, Any] = _changed(spec, {"title": _lines, "columns": lambda _: 1})
    return narrow | {"config": config}


def _changed(part: Any, how: Mapping[str, Callable[[Any], Any]]) -> Any:
    """A specification whose properties of some names are others, wherever they stand; its data stay."""
    if isinstance(part, dict):
        return {
            name: value if name in ("data", "datasets") else how[name](value) if name in how else _changed(value, how)
            for name, value in part.items()
        }
    return [_changed(one, how) for one in part] if isinstance(part, list) else part


def _lines(title: Any) -> Any:
    """The title of an axis, in lines where it is long; a title that is an object or none stays."""
    import textwrap

    if not isinstance(title, str):
        return title
    lines = textwrap.wrap(title, TITLE)
    return lines if len(lines) > 1 else title


def _drawn(spec: dict[str, Any], name: str, before: Drawings) -> str:
    look = {
        "vl_version": VEGA_LITE,
        "config": theme.page_config(),
        "format_locale": theme.NUMBER_FORMAT,
        "allowed_base_urls": [],
    }
    asked = json.dumps([version("vl-convert-python"), look, spec], sort_keys=True, allow_nan=False)
    key = hashlib.sha256(asked.encode()).hexdigest()
    return _with_own_ids(before.get(key, lambda: tidied(_converted(spec, look))), name)


def _converted(spec: dict[str, Any], look: Mapping[str, Any]) -> str:
    import vl_convert

    try:
        return vl_convert.vegalite_to_svg(spec, **look)
    except ValueError:
        raise ChartFault("the chart library cannot draw it") from None


def tidied(svg: str) -> str:
    """The drawing without what no reader sees: long decimals, hidden labels, defaults; what a mark says in `data-tip`.

    >>> tidied('<line x1="0.12345" opacity="1" stroke="var(--ink)"/>')
    '<line x1="0.1" stroke="var(--ink)"/>'
    """
    svg = _NOTHING.sub("", svg)
    svg = _LABEL.sub(_tip, svg)
    svg = _DEFAULTS.sub("", svg)
    svg = _NUMBER.sub(lambda found: f"{float(found[0]):.1f}".removesuffix(".0"), svg)
    while (shorter := _EMPTY.sub("", svg)) != svg:
        svg = shorter
    return svg


def _tip(found: re.Match[str]) -> str:
    """What a mark says: each thing once, names without underscores, numbers as the chart writes them."""
    if found[1].startswith(_AXIS):
        return ""
    told: dict[str, str] = {}
    for part in found[1].split("; "):
        label, mark, value = part.partition(": ")
        if mark and value not in told.values():
            told[label.replace("_", " ")] = value
    exact = [value for value in told.values() if re.fullmatch(r"[−-]?\d+\.\d{4,}", value)]
    said = [f"{label}: {value}" for label, value in told.items() if value not in exact or len(exact) == len(told)]
    return f' data-tip="{"; ".join(said)}"' if said else ""


def _with_own_ids(svg: str, name: str) -> str:
    for own in dict.fromkeys(_ID.findall(svg)):
        svg = re.sub(rf'(id="|#){re.escape(own)}(?=["\)])', rf"\g<1>{name}-{own}", svg)
    return svg
