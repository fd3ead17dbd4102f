"""A drink on the menu map: its dot with both ranges among the others, the two marks as dashed lines.

As in `pictures`, places from left to right are per cent of the width.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from stillroom.answers.review.sheet_objects import MenuPlace
from stillroom_reports.figures import grouped
from stillroom_reports.pictures import Scale, scale
from stillroom_reports.sheet_texts import place_text

if TYPE_CHECKING:
    from markupsafe import Markup

HIGH: Final = 206
"""Height in pixels."""
HEAD, FOOT = 28, 34
"""What of it lies above and below the dots, for labels."""


def menu_map(place: MenuPlace, currency: str) -> Markup:
    """The map of one sheet."""
    from markupsafe import Markup

    spots = (*place.others, place.own)
    across = scale([*(spot.contribution for spot in spots), *place.contribution_range, place.average], zero=False)
    up = scale([*(spot.share for spot in spots), *place.share_range, place.share_mark])
    own = place.own
    parts = [
        *_marks(place, across, up),
        *(_dot("other", spot.contribution, spot.share, 3.5, spot.name, across, up) for spot in place.others),
        _line("range", *place.contribution_range, own.share, own.share, across, up),
        _line("range", own.contribution, own.contribution, *place.share_range, across, up),
        _dot("own", own.contribution, own.share, 5, own.name, across, up),
        _name(own.name, own.contribution, own.share, across, up),
        *_ticks(across, currency),
    ]
    return Markup('<svg class="map" width="100%" height="{}" role="img" aria-label="{}">{}</svg>').format(
        HIGH, place_text(place, currency), Markup("").join(parts)
    )


def _y(up: Scale, value: float) -> float:
    return round(HEAD + (HIGH - FOOT - HEAD) * (1 - up.place(value) / 100), 1)


def _dot(kind: str, contribution: float, share: float, radius: float, name: str, across: Scale, up: Scale) -> Markup:
    from markupsafe import Markup

    return Markup('<circle class="{}" cx="{}%" cy="{}" r="{}" data-tip="{}"/>').format(
        kind, across.place(contribution), _y(up, share), radius, name
    )


def _line(kind: str, x1: float, x2: float, y1: float, y2: float, across: Scale, up: Scale) -> Markup:
    from markupsafe import Markup

    return Markup('<line class="{}" x1="{}%" x2="{}%" y1="{}" y2="{}"/>').format(
        kind, across.place(x1), across.place(x2), _y(up, y1), _y(up, y2)
    )


def _name(name: str, contribution: float, share: float, across: Scale, up: Scale) -> Markup:
    """Its name beside the dot, on the side with more room."""
    from markupsafe import Markup

    right = across.place(contribution) < 50
    return Markup('<text class="own" x="{}%" y="{}" dx="{}" dy="-8" text-anchor="{}">{}</text>').format(
        across.place(contribution), _y(up, share), 4 if right else -4, "start" if right else "end", name
    )


def _marks(place: MenuPlace, across: Scale, up: Scale) -> list[Markup]:
    from markupsafe import Markup

    return [
        _line("mark", place.average, place.average, up.low, up.high, across, up),
        _line("mark", across.low, across.high, place.share_mark, place.share_mark, across, up),
        Markup('<text x="{}%" y="11" dx="4">earns well</text>').format(across.place(place.average)),
        Markup('<text x="100%" y="{}" dy="-4" text-anchor="end">sells well</text>').format(_y(up, place.share_mark)),
    ]


def _ticks(across: Scale, currency: str) -> list[Markup]:
    from markupsafe import Markup

    found = [
        Markup('<text x="{}%" y="{}" text-anchor="{}">{}</text>').format(
            across.place(tick), HIGH - FOOT + 14, "start" if across.place(tick) < 3 else "middle", grouped(tick)
        )
        for tick in across.ticks
    ]
    title = Markup('<text x="0" y="{}">left over a serve, {}; upwards: share of serves</text>').format(
        HIGH - 6, currency
    )
    return [*found, title]
