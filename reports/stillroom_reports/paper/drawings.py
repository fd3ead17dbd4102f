"""The page's own pictures for paper: with a width and colours of their own, and words for those who do not see them."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from stillroom_reports import theme
from stillroom_reports.courses import GUTTER, Panel

if TYPE_CHECKING:
    from markupsafe import Markup

Drawing = dict[str, str]
"""`svg`, and `alt`, what it says to those who do not see it."""
COURSE: Final = 720
"""Width of a sheet's time axis, in pixels of its own."""
GAP: Final = 10
ROOM: Final = 6
"""Pixels at either end: a mark on an end is not cut off."""
_OPENING: Final = re.compile(r"<svg\b[^>]*>")
_HEIGHT: Final = re.compile(r'height="(\d+)"')
_LABEL: Final = re.compile(r'aria-label="([^"]*)"')


def drawing(picture: Markup, width: int) -> Drawing | None:
    """One of `pictures`; None of none.

    What would take all the width there is gets this one, in pixels, with room for marks at its ends.
    """
    if not picture:
        return None
    found = _OPENING.match(str(picture))  # what is added to Markup would be escaped
    assert found is not None
    opening, rest = found[0], str(picture)[found.end() :]
    label = _LABEL.search(opening)
    alt = html.unescape(label[1]) if label else ""
    style = f"<style>{_style()}</style>"
    if 'width="100%"' not in opening:
        return {"svg": opening.replace("<svg", f"<svg {_NAMESPACE}", 1) + style + rest, "alt": alt}
    inner = opening.replace('width="100%"', f'x="{ROOM}" width="{width}" overflow="visible"')
    height = _HEIGHT.findall(opening)[0]
    head = f'<svg {_NAMESPACE} width="{width + 2 * ROOM}" height="{height}">'
    return {"svg": f"{head}{style}{inner}{rest}</svg>", "alt": alt}


def course(panels: Sequence[Panel], alt: str) -> Drawing:
    """The panels of a time axis, one below another."""
    parts, top = [], 0
    for panel in panels:
        for picture, x, width in ((panel.labels, 0, GUTTER), (panel.plot, GUTTER, COURSE - GUTTER)):
            parts.append(
                str(picture).replace(
                    '<svg width="100%"', f'<svg x="{x}" y="{top}" width="{width}" overflow="visible"', 1
                )
            )
        top += panel.height + GAP
    head = f'<svg {_NAMESPACE} class="course" width="{COURSE}" height="{top}">'
    return {"svg": f"{head}<style>{_style()}</style>{''.join(parts)}</svg>", "alt": alt}


_NAMESPACE: Final = 'xmlns="http://www.w3.org/2000/svg"'


@cache
def _style() -> str:
    """The page's rules for its pictures, with the colours themselves."""
    rules = files("stillroom_reports").joinpath("look", "pictures.css").read_text(encoding="utf-8")
    colours = {f"var(--{name})": colour for name, colour in theme.LIGHT.items()}
    for name, colour in colours.items():
        rules = rules.replace(name, colour)
    return rules
