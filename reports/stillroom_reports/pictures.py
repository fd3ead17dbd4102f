"""The host's own small pictures: dots with their ranges, lines of weeks, bars. Drawn once for every width.

Places along a picture are per cent of its width, so that a picture grows and shrinks without a script and without
bending its marks; a line is stretched alone, its stroke is not. Colours are classes of page.css.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from markupsafe import Markup

TICKS: Final = 5
"""About how many ticks a scale has."""
SPARK_WIDE, SPARK_HIGH = 96, 20


@dataclass(frozen=True, kw_only=True)
class Scale:
    """Values laid out from left to right, from 0 or the lowest value to the highest."""

    low: float
    high: float
    ticks: tuple[float, ...]

    def place(self, value: float) -> float:
        """Where a value lies, in per cent of the width."""
        return round(100 * (value - self.low) / (self.high - self.low), 2)


def scale(values: Sequence[float], *, zero: bool = True) -> Scale:
    """A scale with round ticks that holds all values, and zero unless told otherwise.

    >>> scale([1200.0, 11690.0]).ticks, scale([6.6, 9.9], zero=False).ticks
    ((0.0, 5000.0, 10000.0), (7.0, 8.0, 9.0))
    """
    held = [*values, 0.0] if zero else values
    top, bottom = max(held), min(held)
    if top == bottom:
        top = bottom + 1.0
    step = _round_step((top - bottom) / TICKS)
    first = math.ceil(bottom / step)
    ticks = tuple(step * n for n in range(first, int(top // step) + 1))
    margin = 0.02 * (top - bottom)
    return Scale(low=bottom - (margin if bottom < 0 or not zero else 0.0), high=top + margin, ticks=ticks)


def _round_step(step: float) -> float:
    size = 10.0 ** math.floor(math.log10(step))
    return next(size * factor for factor in (1, 2, 5, 10) if size * factor >= step * 0.999)


def axis(on: Scale, labels: Sequence[str]) -> Markup:
    """The labels of a scale, for the head of a column of dots."""
    from markupsafe import Markup

    anchors = ["start" if on.place(tick) < 3 else "end" if on.place(tick) > 97 else "middle" for tick in on.ticks]
    marks = [
        Markup('<text x="{}%" y="12" text-anchor="{}">{}</text>').format(on.place(tick), anchor, label)
        for tick, anchor, label in zip(on.ticks, anchors, labels, strict=True)
    ]
    return Markup('<svg class="axis" width="100%" height="16" aria-hidden="true">{}</svg>').format(
        Markup("").join(marks)
    )


def dot(on: Scale, value: float | None, low: float | None, high: float | None, *, kind: str, label: str) -> Markup:
    """A dot with its range; a hollow one on a dashed line from zero where the value is only the most it can be.

    Args:
        kind: normal, decide or unknown.
        label: what it says to those who do not see it.
    """
    from markupsafe import Markup

    marks = [
        Markup('<line class="grid" x1="{0}%" x2="{0}%" y1="0" y2="100%"/>').format(on.place(tick)) for tick in on.ticks
    ]
    if value is not None:
        ends = (0.0, value) if kind == "unknown" else (value if low is None else low, value if high is None else high)
        marks.append(Markup('<line class="range" x1="{}%" x2="{}%" y1="50%" y2="50%"/>').format(*map(on.place, ends)))
        marks.append(Markup('<circle cx="{}%" cy="50%" r="4.5"/>').format(on.place(value)))
    return Markup('<svg class="dot {}" width="100%" height="20" role="img" aria-label="{}">{}</svg>').format(
        kind, label, Markup("").join(marks)
    )


def spark(weeks: Sequence[float | None], *, label: str, lost: bool = False, wide: int = SPARK_WIDE) -> Markup:
    """A small line from zero, a gap where nothing is known, a dot at its end; '' where one week alone is known."""
    from markupsafe import Markup

    known = [value for value in weeks if value is not None]
    if len(known) < 2:
        return Markup("")
    top = max([*known, 0.0]) or 1.0
    step = (wide - 6) / max(len(weeks) - 1, 1)
    points = [
        None if value is None else (3 + step * n, SPARK_HIGH - 3 - (SPARK_HIGH - 6) * max(value, 0.0) / top)
        for n, value in enumerate(weeks)
    ]
    last = next(point for point in reversed(points) if point is not None)
    lines = [
        Markup('<polyline points="{}"/>').format(" ".join(f"{x:.1f},{y:.1f}" for x, y in run))
        for run in _runs(points)
        if len(run) > 1
    ]
    return Markup(
        '<svg class="spark{}" width="{}" height="{}" role="img" aria-label="{}">{}<circle cx="{:.1f}" cy="{:.1f}" '
        'r="2.2"/></svg>'
    ).format(" lost" if lost else "", wide, SPARK_HIGH, label, Markup("").join(lines), *last)


def _runs(points: Sequence[tuple[float, float] | None]) -> list[list[tuple[float, float]]]:
    """Points that follow one another without a gap."""
    runs: list[list[tuple[float, float]]] = [[]]
    for point in points:
        if point is None:
            runs.append([])
        else:
            runs[-1].append(point)
    return [run for run in runs if run]


def bar(share: float, *, label: str, kind: str = "lost") -> Markup:
    """A bar from the left, of this part of the width, with a sliver where there is anything at all."""
    from markupsafe import Markup

    return Markup(
        '<svg class="much {}" width="100%" height="12" role="img" aria-label="{}">'
        '<rect width="{:.1f}%" height="100%"/></svg>'
    ).format(kind, label, max(100 * share, 0.4 if share > 0 else 0.0))
