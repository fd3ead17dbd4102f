"""The look of every chart: colours for light and dark, and the Vega-Lite configuration made of them.

On the page the configuration names CSS variables, so that a chart follows light, dark and print without being drawn
again; in an exported picture it holds the light colours themselves.

Report authors may use these mark styles, `mark_rule(style="reference")`: *reference* (a quiet dashed line to compare
with), *good*, *bad* and *quiet* (fill or line in that colour).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

CATEGORIES: Final = 8

# Hues of the colour-blind safe set of Okabe & Ito, 'Color Universal Design' (2008; values from memory), made darker or
# lighter until each stands out from its ground by 3 to 1 (WCAG 2.2, 1.4.11) and neighbours differ in lightness.
LIGHT: Final[dict[str, str]] = {
    "ground": "#fbfcfb",
    "raised": "#f0f4f2",
    "ink": "#18211f",
    "soft": "#51605c",
    "line": "#d3dbd8",
    "accent": "#0b5f63",
    "chart-1": "#0072b2",
    "chart-2": "#d55e00",
    "chart-3": "#00805d",
    "chart-4": "#b25487",
    "chart-5": "#9a6a00",
    "chart-6": "#2b93cb",
    "chart-7": "#4b4f57",
    "chart-8": "#7d8500",
    "good": "#00805d",
    "bad": "#c14f00",
}
DARK: Final[dict[str, str]] = {
    "ground": "#121817",
    "raised": "#1b2322",
    "ink": "#e4ebe8",
    "soft": "#a5b3ae",
    "line": "#36423f",
    "accent": "#74c8c2",
    "chart-1": "#4aa3df",
    "chart-2": "#ef8a3c",
    "chart-3": "#2bbf94",
    "chart-4": "#d99cc0",
    "chart-5": "#e6b83a",
    "chart-6": "#8fd0f5",
    "chart-7": "#b4bac2",
    "chart-8": "#d8d66a",
    "good": "#2bbf94",
    "bad": "#ef8a3c",
}

# Shades between which a chart library interpolates cannot be CSS variables: one set that is seen on both grounds.
_RAMP: Final = ["#b7c9c5", "#84b3ae", "#4b9a98", "#237f83", "#14646b"]
_DIVERGING: Final = ["#d55e00", "#dd9a6c", "#b3b8b6", "#6f9fc2", "#0072b2"]
_TEXT_SIZE: Final = 12


def css_variables(colours: dict[str, str]) -> str:
    """The colours as declarations for a CSS rule."""
    return "".join(f"--{name}:{value};" for name, value in colours.items())


def page_config() -> dict[str, Any]:
    """The Vega-Lite configuration for the page: colours are CSS variables."""
    return _config(lambda name: f"var(--{name})", "system-ui, sans-serif")


def picture_config() -> dict[str, Any]:
    """The Vega-Lite configuration for a picture that stands alone: light colours."""
    return _config(LIGHT.__getitem__, "sans-serif") | {"background": "#ffffff", "padding": 12}


def _config(colour: Callable[[str], str], font: str) -> dict[str, Any]:
    text = {"labelColor": colour("soft"), "titleColor": colour("soft")}
    sizes = {"labelFontSize": _TEXT_SIZE, "titleFontSize": _TEXT_SIZE, "titleFontWeight": "normal"}
    return {
        "background": "transparent",
        "font": font,
        "padding": 4,
        "view": {"stroke": None, "continuousHeight": 260, "continuousWidth": 260, "discreteHeight": {"step": 24}},
        "range": {
            "category": [colour(f"chart-{number}") for number in range(1, CATEGORIES + 1)],
            "ordinal": _RAMP,
            "ramp": _RAMP,
            "heatmap": _RAMP,
            "diverging": _DIVERGING,
        },
        "mark": {"color": colour("chart-1"), "tooltip": True},
        "rule": {"color": colour("soft")},
        "text": {"color": colour("ink"), "fontSize": _TEXT_SIZE},
        "line": {"strokeWidth": 2},
        "point": {"filled": True, "size": 60},
        "errorbar": {"rule": {"strokeWidth": 2}},
        "style": {
            "reference": {"stroke": colour("soft"), "strokeDash": [4, 4], "strokeWidth": 1},
            "good": {"fill": colour("good"), "stroke": colour("good")},
            "bad": {"fill": colour("bad"), "stroke": colour("bad")},
            "quiet": {"fill": colour("line"), "stroke": colour("line")},
        },
        "axis": {
            **text,
            **sizes,
            "domainColor": colour("line"),
            "gridColor": colour("line"),
            "tickColor": colour("line"),
            "labelLimit": 180,
            "titlePadding": 8,
        },
        "axisBand": {"grid": False},
        "legend": {**text, **sizes, "orient": "top", "titleAnchor": "start", "labelLimit": 180, "symbolType": "circle"},
        "header": {**text, **sizes, "labelColor": colour("ink")},
        "title": {"color": colour("ink"), "subtitleColor": colour("soft"), "fontSize": 13, "anchor": "start"},
    }
