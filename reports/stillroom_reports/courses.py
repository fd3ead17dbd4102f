"""The one time axis of a sheet: what was on hand or sold, what was made and lost, and when a version or price changed.

As in `pictures`, places along the axis are per cent of the width, so that one drawing serves every width.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.sheet_objects import BatchMark, Course
from stillroom.words import short_amount, short_day
from stillroom_reports.pictures import Scale, scale

if TYPE_CHECKING:
    from markupsafe import Markup

GUTTER: Final = 56
"""Pixels left of the axis for the labels of values."""
TOP, LINE_HIGH, LOSS_HIGH, COST_HIGH, MEASURED_HIGH = 22, 110, 44, 44, 56
FEW_DAYS: Final = 21
"""Days up to which every few days has a label; of more, the first of every month."""


@dataclass(frozen=True, kw_only=True)
class Panel:
    """Labels of values, and what they are beside; both as SVG of the same height."""

    labels: Markup
    plot: Markup
    height: int


def course_panels(course: Course) -> tuple[Panel, ...]:
    """A course from top to bottom: the line with its marks, what was lost, what was measured, the days."""
    days = _Days(course.first, course.last)
    panels = [_line(course, days)]
    if any(batch.lost > 0 for batch in course.batches):
        panels.append(_losses(course, days))
    if course.costs:
        panels.append(_costs(course, days))
    targets = dict(course.targets)
    for name, values in (("°Brix", [b.brix for b in course.batches]), ("pH", [b.ph for b in course.batches])):
        if sum(value is not None for value in values) > 1:
            panels.append(_measured(course, days, name, values, targets.get(name)))
    panels.append(_dates(days))
    return tuple(panels)


class _Days:
    """Days along the axis."""

    def __init__(self, first: date, last: date) -> None:
        self.first, self.last = first, last
        self.span = max((last - first).days + 1, 1)

    def place(self, day: date) -> float:
        """The middle of a day, in per cent of the width."""
        return round(100 * ((day - self.first).days + 0.5) / self.span, 2)

    def holds(self, day: date) -> bool:
        return self.first <= day <= self.last

    def ticks(self) -> list[date]:
        if self.span <= FEW_DAYS:
            return [self.first + timedelta(days=n) for n in range(0, self.span, max(1, self.span // 5))]
        every = (self.first + timedelta(days=n) for n in range(self.span))
        step = max(1, self.span // 240 + 1)
        return [day for day in every if day.day == 1 and day.month % step == 0]


def _svg(height: int, parts: Sequence[Markup]) -> Markup:
    from markupsafe import Markup

    return Markup('<svg width="100%" height="{}" aria-hidden="true">{}</svg>').format(height, Markup("").join(parts))


def _line(course: Course, days: _Days) -> Panel:
    from markupsafe import Markup

    height = TOP + LINE_HIGH
    on = scale([value for _, value in course.line if value is not None] or [1.0])
    parts = [*_grid(on, TOP)]
    runs = list(_runs(course.line, days, on))
    # The line alone is stretched to the width: its stroke and the marks are not.
    paths = [
        Markup('<path class="{}" d="{}"/>').format(kind, d)
        for run in runs
        for kind, d in (("under", _area(run)), ("course", _path(run)))
        if kind == "course" or course.batches
    ]
    parts.append(
        Markup(
            '<svg y="{}" width="100%" height="{}" viewBox="0 0 1000 100" preserveAspectRatio="none">{}</svg>'
        ).format(TOP, LINE_HIGH, Markup("").join(paths))
    )
    if not course.batches:
        parts += [
            _point(days.place(day), TOP + _y(on, value), f"{short_day(day)}: {value:.1f}")
            for day, value in _known(course)
        ]
    parts += [_made(batch, days, height) for batch in course.batches if days.holds(batch.made_on)]
    parts += [_use_by(batch, days, height) for batch in course.batches if batch.use_by and days.holds(batch.use_by)]
    parts += _marks(course, days, height)
    bare = course.unit in ("", "each")  # of pieces the heading says so: the word is too wide for a phone
    labels = _labels(on, TOP, lambda value: f"{value:g}" if bare else short_amount(value, course.unit))
    return Panel(labels=_svg(height + 4, labels), plot=_svg(height + 4, parts), height=height + 4)


def _known(course: Course) -> list[tuple[date, float]]:
    return [(day, value) for day, value in course.line if value is not None]


def _y(on: Scale, value: float) -> float:
    return round(LINE_HIGH * (1 - on.place(value) / 100), 1)


def _runs(line: Sequence[tuple[date, float | None]], days: _Days, on: Scale) -> Iterator[list[tuple[float, float]]]:
    """Stretches of the line without a gap, in the units of its own box."""
    run: list[tuple[float, float]] = []
    for day, value in line:
        if value is None:
            if run:
                yield run
            run = []
        else:
            run.append((round(10 * days.place(day), 1), round(100 - on.place(value), 1)))
    if run:
        yield run


def _path(run: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:g},{y:g}" for x, y in run)


def _area(run: Sequence[tuple[float, float]]) -> str:
    return f"M{run[0][0]:g},100L" + "L".join(f"{x:g},{y:g}" for x, y in run) + f"L{run[-1][0]:g},100Z"


def _point(x: float, y: float, tip: str) -> Markup:
    from markupsafe import Markup

    return Markup('<circle class="point" cx="{}%" cy="{}" r="3" data-tip="{}"/>').format(x, y, tip)


def _made(batch: BatchMark, days: _Days, height: int) -> Markup:
    from markupsafe import Markup

    tip = f"{batch.batch}: made {short_amount(batch.made, batch.unit)}, used {short_amount(batch.used, batch.unit)}"
    if batch.lost > 0:
        tip += f", lost {short_amount(batch.lost, batch.unit)}"
    return Markup('<text class="made" x="{}%" y="{}" text-anchor="middle" data-tip="{}">▲</text>').format(
        days.place(batch.made_on), height + 3, tip
    )


def _use_by(batch: BatchMark, days: _Days, height: int) -> Markup:
    from markupsafe import Markup

    assert batch.use_by is not None
    return Markup('<line class="use-by" x1="{0}%" x2="{0}%" y1="{1}" y2="{2}" data-tip="{3}"/>').format(
        days.place(batch.use_by), height - 9, height, f"{batch.batch}: use by {short_day(batch.use_by)}"
    )


def _marks(course: Course, days: _Days, height: int) -> list[Markup]:
    from markupsafe import Markup

    return [
        Markup(
            '<line class="change" x1="{0}%" x2="{0}%" y1="6" y2="{1}"/>'
            '<text class="change" x="{0}%" y="14" dx="{2}" text-anchor="{3}">{4}, {5}</text>'
        ).format(
            days.place(mark.day),
            height,
            -5 if days.place(mark.day) > 60 else 5,
            "end" if days.place(mark.day) > 60 else "start",
            mark.text,
            short_day(mark.day),
        )
        for mark in course.marks
    ]


def _losses(course: Course, days: _Days) -> Panel:
    from markupsafe import Markup

    most = max(batch.lost for batch in course.batches)
    parts = [
        Markup(
            '<rect class="lost" x="{}%" y="0" width="6" height="{:.1f}" transform="translate(-3)" data-tip="{}"/>'
        ).format(
            days.place(batch.gone_on),
            max(LOSS_HIGH * batch.lost / most, 1.5),
            f"{batch.batch}: {short_amount(batch.lost, batch.unit)} lost by {short_day(batch.gone_on)}",
        )
        for batch in course.batches
        if batch.lost > 0 and batch.gone_on and days.holds(batch.gone_on)
    ]
    labels = [
        Markup(
            '<text x="{0}" y="11" text-anchor="end">lost ▼</text><text x="{0}" y="{1}" text-anchor="end">{2}</text>'
        ).format(GUTTER - 8, LOSS_HIGH, short_amount(most, course.unit))
    ]
    return Panel(labels=_svg(LOSS_HIGH + 4, labels), plot=_svg(LOSS_HIGH + 4, parts), height=LOSS_HIGH + 4)


def _costs(course: Course, days: _Days) -> Panel:
    """What a serve cost: a line that steps, each step with its figure; a gap where it is not known."""
    from markupsafe import Markup

    on = scale([cost for _, cost in course.costs if cost is not None] or [1.0])
    ends = [days.place(day) for day, _ in course.costs[1:]] + [100.0]
    parts = []
    for (day, cost), end in zip(course.costs, ends, strict=True):
        start = days.place(day)
        height = COST_HIGH - 2 if cost is None else 14 + (COST_HIGH - 16) * (1 - on.place(cost) / 100)
        if cost is not None:
            parts.append(
                Markup('<line class="cost" x1="{0}%" x2="{1}%" y1="{2:.1f}" y2="{2:.1f}"/>').format(start, end, height)
            )
        parts.append(
            Markup('<text x="{}%" y="{:.1f}" text-anchor="{}">{}</text>').format(
                start, height - 4, "end" if start > 90 else "start", "not known" if cost is None else f"{cost:.2f}"
            )
        )
    labels = [
        Markup(
            '<text x="{0}" y="14" text-anchor="end">a serve</text><text x="{0}" y="28" text-anchor="end">costs</text>'
        ).format(GUTTER - 8)
    ]
    return Panel(labels=_svg(COST_HIGH, labels), plot=_svg(COST_HIGH, parts), height=COST_HIGH)


def _measured(course: Course, days: _Days, name: str, values: Sequence[float | None], target: float | None) -> Panel:
    from markupsafe import Markup

    known = [value for value in values if value is not None]
    near = target if target is not None and min(known) - 15 < target < max(known) + 15 else None
    low, high = (
        min([*known, *([near] if near is not None else [])]),
        max([*known, *([near] if near is not None else [])]),
    )
    margin = 0.15 * (high - low) or 0.5
    low, high = low - margin, high + margin

    def y(value: float) -> float:
        return round(8 + (MEASURED_HIGH - 16) * (high - value) / (high - low), 1)

    parts = [
        _point(days.place(batch.made_on), y(value), f"{batch.batch}, {short_day(batch.made_on)}: {value:g} {name}")
        for batch, value in zip(course.batches, values, strict=True)
        if value is not None and days.holds(batch.made_on)
    ]
    labels = [
        Markup('<text x="{}" y="11" text-anchor="end">{}</text>').format(GUTTER - 8, name),
        Markup('<text x="{}" y="{}" text-anchor="end">{:.3g}–{:.3g}</text>').format(
            GUTTER - 8, MEASURED_HIGH / 2 + 10, min(known), max(known)
        ),
    ]
    if near is not None:
        parts.insert(0, Markup('<line class="target" x1="0" x2="100%" y1="{0}" y2="{0}"/>').format(y(near)))
        parts.append(
            Markup('<text class="target" x="100%" y="{}" text-anchor="end">spec: {:.3g}</text>').format(
                y(near) - 3, near
            )
        )
    return Panel(labels=_svg(MEASURED_HIGH, labels), plot=_svg(MEASURED_HIGH, parts), height=MEASURED_HIGH)


def _dates(days: _Days) -> Panel:
    from markupsafe import Markup

    parts = [
        Markup('<line x1="{0}%" x2="{0}%" y1="0" y2="5"/><text x="{0}%" y="16" text-anchor="{1}">{2}</text>').format(
            days.place(day),
            "end" if days.place(day) > 94 else "start" if days.place(day) < 4 else "middle",
            short_day(day),
        )
        for day in days.ticks()
    ]
    return Panel(labels=_svg(20, []), plot=_svg(20, parts), height=20)


def _grid(on: Scale, top: int) -> list[Markup]:
    from markupsafe import Markup

    return [
        Markup('<line class="grid" x1="0" x2="100%" y1="{0}" y2="{0}"/>').format(top + _y(on, tick))
        for tick in on.ticks
    ]


def _labels(on: Scale, top: int, text: Callable[[float], str]) -> list[Markup]:
    from markupsafe import Markup

    return [
        Markup('<text x="{}" y="{}" text-anchor="end">{}</text>').format(GUTTER - 8, top + _y(on, tick) + 4, text(tick))
        for tick in on.ticks
    ]
