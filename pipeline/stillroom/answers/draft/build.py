"""The next version of a spec, before a bottle is opened: its lines changed or solved for, beside today's version."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from stillroom.analysis.bench.aims import Aim, ends_reached, reached, read_aim
from stillroom.analysis.bench.edits import Edit, edited, line_of
from stillroom.analysis.bench.solving import Prefer, solve
from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.facts import batch_history
from stillroom.analysis.specs.figures import glass
from stillroom.analysis.specs.request import chosen_version
from stillroom.analysis.specs.sheet import SpecSheet
from stillroom.answers.draft.books import Book, as_if, book_of, frames_of, with_bought
from stillroom.answers.draft.careful import Careful, Turned
from stillroom.answers.draft.effects import DrinkEffect, effects
from stillroom.answers.draft.mixture import A_LITTLE, Bounds, Mixture, bounds
from stillroom.errors import UsageError
from stillroom.names import name_key
from stillroom.objects import Caution

if TYPE_CHECKING:
    import duckdb
    import polars as pl

KEPT: Final = ("volume", "mass")
"""One of them stays as it is unless an aim says otherwise."""
_TOLD_APART: Final = 0.01
"""An aim counts as met within this share of it: what scales and jiggers leave."""


@dataclass(frozen=True, kw_only=True)
class Reached:
    """An aim and what the draft comes to."""

    aim: Aim
    value: float | None
    ends: tuple[float, float] | None
    """Of the value, as fruit differs; None where nothing in it has a range."""
    met: bool


@dataclass(frozen=True, kw_only=True)
class Draft:
    """A draft beside today's version."""

    before: SpecSheet
    after: SpecSheet
    drinks: tuple[DrinkEffect, ...]
    aims: tuple[Reached, ...]
    at_odds: tuple[Aim, ...]
    """Aims that exclude one another with the items that may change."""
    exact: Mapping[str, float]
    """Item -> its amount before rounding to what can be measured, in the unit of its line."""
    unlisted: tuple[str, ...]
    """Items that neither the price list nor the spec book holds."""
    cautions: Turned


def draft(
    con: duckdb.DuckDBPyConnection,
    name: str,
    *,
    cautions: Iterable[Caution],
    version: int | None = None,
    edits: Sequence[Edit] = (),
    aims: Sequence[str] = (),
    free: Sequence[str] = (),
    prefer: Prefer = "near",
) -> Draft:
    """A spec with its lines changed, then with amounts solved for where aims are given.

    Something bought goes as a preparation of a litre, or a kilogram, of it: so one juice is made as sour as another.

    Args:
        aims: as `read_aim` reads them; 'acid=as lemon juice' takes the figure of an item.
        free: items whose amounts may be solved for, 'white sugar' or 'white sugar=500..700 g'; all lines when empty.

    Raises:
        UsageError: something named is not there, cannot be read, or would go in a circle.
    """
    frames = frames_of(con)
    today = book_of(frames)
    bought = today.composition.book.ingredient(name)
    if bought is not None and bought.known and not today.composition.book.is_spec(name):
        name, frames = with_bought(con, frames, bought)
        today = book_of(frames)
    asked = Careful(cautions, batch_history(frames["current_batch"], frames["batch_fate"]))
    spec = chosen_version(today.composition.book, name, version)
    lines = edited(spec, edits)
    _refuse_circle(today, spec, lines)
    exact: dict[str, float] = {}
    at_odds: tuple[Aim, ...] = ()
    wanted = [_aim(today.composition, text) for text in aims]
    if wanted:
        lines, exact, at_odds = _solved(con, frames, spec, lines, wanted, free, prefer)
    after, drafted = as_if(con, frames, spec, lines)
    return Draft(
        before=today.sheet(spec),
        after=after.sheet(drafted),
        drinks=tuple(effects(frames, today, after, drafted, asked)),
        aims=tuple(_reached(aim, after, drafted) for aim in wanted),
        at_odds=at_odds,
        exact=exact,
        cautions=asked.turned(today, spec, after, drafted),
        unlisted=tuple(line.item for line in lines if after.spelling(line.item) is None),
    )


def _refuse_circle(book: Book, spec: SpecVersion, lines: Sequence[Line]) -> None:
    specs = book.composition.book
    day = specs.day_of(spec)
    for line in lines:
        if specs.is_spec(line.item):
            inside = specs.inside_out(specs.version_on(line.item, day), day)
            if name_key(spec.spec) in {name_key(one.spec) for one in inside}:
                raise UsageError(f"{line.item} is made with {spec.spec}: it cannot go into it.")


def _aim(composition: Composition, text: str) -> Aim:
    """An aim; 'acid=as lemon juice' takes the figure of what is bought or made under that name."""
    figure, _, other = text.partition("=as ")
    if not other:
        return read_aim(text)
    book = composition.book
    aim = read_aim(f"{figure}=1")
    if book.is_spec(other.strip()):
        contents = composition.making(book.in_service(other.strip())).contents
    else:
        contents = composition.part(line_of(other.strip(), 100.0, "g"), book.day).contents
    value = reached(aim, contents, 0.0, 1.0)
    if not value or aim.figure in ("cost", "volume"):
        raise UsageError(f"--aim '{text}': the book does not say the {aim.figure} of '{other.strip()}'.")
    return replace(aim, value=value, text=text)


def _solved(
    con: duckdb.DuckDBPyConnection,
    frames: Mapping[str, pl.DataFrame],
    spec: SpecVersion,
    lines: tuple[Line, ...],
    aims: list[Aim],
    free: Sequence[str],
    prefer: Prefer,
) -> tuple[tuple[Line, ...], dict[str, float], tuple[Aim, ...]]:
    """Lines that meet the aims, amounts before rounding, and aims at odds."""
    may_change: Bounds = bounds(lines, free)
    today = book_of(frames)
    lines = (*lines, *_new_lines(today, lines, may_change))
    _refuse_circle(today, spec, lines)
    book, candidate = as_if(con, frames, spec, lines)
    unknown = book.composition.making(candidate).not_counted
    mixture = Mixture(book, candidate, lines, may_change)
    if unknown and any(_about_what_is_in_it(aim) for aim in aims):
        raise UsageError(f"The aims cannot be reckoned, as not all of {spec.label} can be: {'; '.join(unknown)}.")
    keep = _what_stays(spec, mixture) if all(aim.figure not in KEPT for aim in aims) else []
    found = solve(mixture.parts, [*aims, *keep], mixture.misses([*aims, *keep]), prefer)
    if found.at_odds and keep:  # how much comes out gives way first
        found = solve(mixture.parts, aims, mixture.misses(aims), prefer)
    solved, exact = mixture.lines(found.measured), mixture.lines(found.exact)
    moved = {line.item: line.amount for line in exact if name_key(line.item) in may_change}
    return tuple(line for line in solved if line.base_amount > 0), moved, found.at_odds


def _what_stays(spec: SpecVersion, mixture: Mixture) -> list[Aim]:
    """As much comes out as today, by volume or, of what is yielded in g, by mass."""
    kept = KEPT[spec.yield_base == "g"]
    today = reached(read_aim(f"{kept}=1"), mixture.glass(mixture.today), 0.0, 1.0)
    return [read_aim(f"{kept}={today:.6f}")] if today else []


def _about_what_is_in_it(aim: Aim) -> bool:
    return aim.figure != "cost"


def _new_lines(book: Book, lines: Sequence[Line], may_change: Bounds) -> list[Line]:
    """A line of next to nothing for each item that may change and is not in the spec yet."""
    there = {name_key(line.item) for line in lines}
    found = []
    for key, (_, _, unit) in may_change.items():
        if key not in there:
            item = book.spelling(key)
            if item is None:
                raise UsageError(f"--with '{key}': the price list and the spec book hold no such item.")
            found.append(line_of(item, A_LITTLE, unit))
    return found


def _reached(aim: Aim, book: Book, spec: SpecVersion) -> Reached:
    poured = glass(spec, book.composition.making(spec)).served.times(spec.serves)
    sheet = book.sheet(spec)
    value = reached(aim, poured, sheet.cost_scaled.known, spec.serves)
    near = value is not None and abs(value - aim.value) <= _TOLD_APART * max(aim.value, 1e-9)
    met = value is not None and (
        near or (aim.relation == "<=" and value < aim.value) or (aim.relation == ">=" and value > aim.value)
    )
    ends = ends_reached(aim, poured, sheet.cost_scaled.known, spec.serves)
    return Reached(aim=aim, value=value, ends=ends, met=met)
