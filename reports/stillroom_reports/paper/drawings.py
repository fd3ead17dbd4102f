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
_OPENING: Final = re.compile(r"<svg\b[^>]*>")
_LABEL: Final = re.compile(r'aria-label="([^"]*)"')


def drawing(picture: Markup, width: int) -> Drawing | None:
    """One of `pictures`, of that width in pixels where it would take all there is; None of none."""
    if not picture:
        return None
    text = str(picture)  # what is added to Markup would be escaped
    opening = _OPENING.match(text)
    assert opening is not None
    label = _LABEL.search(opening[0])
    head = opening[0].replace('width="100%"', f'width="{width}"').replace("<svg", f"<svg {_NAMESPACE}", 1)
    return {
        "svg": f"{head}<style>{_style()}</style>{text[opening.end() :]}",
        "alt": html.unescape(label[1]) if label else "",
    }


def course(panels: Sequence[Panel], alt: str) -> Drawing:
    """The panels of a time axis, one below another."""
    parts, top = [], 0
    for panel in panels:
        for picture, x, width in ((panel.labels, 0, GUTTER), (panel.plot, GUTTER, COURSE - GUTTER)):
            parts.append(str(picture).replace('<svg width="100%"', f'<svg x="{x}" y="{top}" width="{width}"', 1))
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
