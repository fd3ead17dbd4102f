"""The look of every chart: colours for light and dark, and the Vega-Lite configuration made of them.

On the page the configuration names CSS variables, so that a chart is right in light, in dark and on paper without being
drawn again; in an exported picture it holds the light colours themselves.

A colour has one meaning on the page: grey is the normal and the undecided, red is lost or needs a decision, teal is a
link or a dated change. A mark is grey unless told otherwise. Report authors may use these mark styles,
`mark_rule(style="reference")`: *reference* (a quiet dashed line to compare with), *normal*, *lost*, *dated* and *quiet*
(fill and line in that colour).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from stillroom.words import MINUS, THIN_SPACE

CATEGORIES: Final = 8

# Hues of Okabe & Ito, 'Color Universal Design' (2008), made darker or lighter until each stands out from its ground by
# 3 to 1 (WCAG 2.2, 1.4.11) and any two differ by 12 in CIELAB, also as seen with protanopia, deuteranopia and
# tritanopia.
LIGHT: Final[dict[str, str]] = {
    "ground": "#fbfcfb",
    "ink": "#18211f",
    "soft": "#51605c",
    "line": "#d3dbd8",
    "accent": "#0b5f63",
    "normal": "#69736f",
    "pale": "#e8edeb",
    "lost": "#b3341a",
    "chart-1": "#236ab0",
    "chart-2": "#c74b00",
    "chart-3": "#229761",
    "chart-4": "#c474a3",
    "chart-5": "#cf7d06",
    "chart-6": "#4497d1",
    "chart-7": "#575757",
    "chart-8": "#91953f",
}
DARK: Final[dict[str, str]] = {
    "ground": "#121817",
    "ink": "#e4ebe8",
    "soft": "#a5b3ae",
    "line": "#36423f",
    "accent": "#74c8c2",
    "normal": "#8d9894",
    "pale": "#232c2a",
    "lost": "#f0866a",
    "chart-1": "#1b81c6",
    "chart-2": "#d15d00",
    "chart-3": "#27b38a",
    "chart-4": "#c47db0",
    "chart-5": "#d9a900",
    "chart-6": "#3f6c8b",
    "chart-7": "#e7e7e7",
    "chart-8": "#f6dd3d",
}

# Shades from little to much. A chart library mixes them itself, so they cannot be CSS variables: these stand out from
# both grounds.
SHADES: Final = {
    "ramp": ["#a9c2be", "#7fa9a5", "#569291", "#2f7d7f", "#1d7073"],
    "diverging": ["#b3341a", "#c98a72", "#98a09d", "#6a9aa0", "#1d7073"],
}
_TEXT_SIZE: Final = 13
# Ticks at midnight name the day, others what sets them apart.
_DAY_FORMATS: Final = {
    "year": "%Y",
    **dict.fromkeys(("quarter", "month", "week", "date", "day"), "%-d %b"),
    **dict.fromkeys(("hours", "minutes"), "%H:%M"),
}

NUMBER_FORMAT: Final = {"decimal": ".", "thousands": THIN_SPACE, "grouping": [3], "currency": ["", ""], "minus": MINUS}
"""How charts write numbers (a d3-format locale): as the tables do."""


def css_variables(colours: dict[str, str]) -> str:
    """The colours as declarations for a CSS rule."""
    return "".join(f"--{name}:{value};" for name, value in colours.items())


def page_config() -> dict[str, Any]:
    """The Vega-Lite configuration for the page: all but the shades are CSS variables."""
    return _config(lambda name: f"var(--{name})", "system-ui, sans-serif")


def picture_config() -> dict[str, Any]:
    """The Vega-Lite configuration for a picture that stands alone: light colours."""
    return _config(LIGHT.__getitem__, "sans-serif") | {"background": "#ffffff", "padding": 12}


def _one(colour: str) -> dict[str, str]:
    """A mark style in one colour, whether the mark is filled or a line."""
    return {"color": colour, "fill": colour, "stroke": colour}


def _config(colour: Callable[[str], str], font: str) -> dict[str, Any]:
    text = {"labelColor": colour("soft"), "titleColor": colour("soft")}
    sizes = {"labelFontSize": _TEXT_SIZE, "titleFontSize": _TEXT_SIZE, "titleFontWeight": "normal"}
    return {
        "background": "transparent",
        "font": font,
        "padding": {"left": 24, "top": 4, "right": 8, "bottom": 4},  # a reader's font may be wider than ours
        "view": {"stroke": None, "continuousHeight": 260, "continuousWidth": 260, "discreteHeight": {"step": 24}},
        "range": {
            "category": [colour(f"chart-{number}") for number in range(1, CATEGORIES + 1)],
            **SHADES,
            "heatmap": SHADES["ramp"],
            "ordinal": SHADES["ramp"],
        },
        "mark": {"color": colour("normal"), "tooltip": True},
        "rule": {"color": colour("soft")},
        "text": {"color": colour("ink"), "fontSize": _TEXT_SIZE},
        "line": {"strokeWidth": 2},
        "point": {"filled": True, "size": 60},
        "circle": {"size": 60, "opacity": 1},
        "errorbar": {"rule": {"strokeWidth": 2}},
        "style": {
            "reference": {"stroke": colour("soft"), "strokeDash": [4, 4], "strokeWidth": 1},
            "normal": _one(colour("normal")),
            "lost": _one(colour("lost")),
            "dated": _one(colour("accent")),
            "quiet": _one(colour("line")),
        },
        "axis": {
            "labelFlush": False,  # pushed inwards, a label at an end meets its neighbour
            **text,
            **sizes,
            "domainColor": colour("line"),
            "gridColor": colour("line"),
            "tickColor": colour("line"),
            "labelLimit": 180,
            "titlePadding": 8,
        },
        "axisBand": {"grid": False},
        "axisTemporal": {"format": _DAY_FORMATS, "grid": False},
        "legend": {**text, **sizes, "orient": "top", "titleAnchor": "start", "labelLimit": 180, "symbolType": "circle"},
        "header": {**text, **sizes, "labelColor": colour("ink")},
        "headerRow": {"labelAngle": 0, "labelAlign": "left"},
        "title": {
            "color": colour("ink"),
            "subtitleColor": colour("soft"),
            "fontSize": 13,
            "anchor": "start",
            "offset": 10,
        },
    }
