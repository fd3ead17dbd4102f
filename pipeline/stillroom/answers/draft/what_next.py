"""What to taste next of a spec, from all panels so far: versions within a step of the best, with glass and cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
import polars as pl

from stillroom.analysis.bench.liking_surface import OWN, Array, Surface, Tasted
from stillroom.analysis.bench.next_versions import around, gains_over, improvement, next_versions, not_told_apart
from stillroom.analysis.panel.attributes import labelled
from stillroom.analysis.panel.penalty import ENOUGH, SIDES, penalties
from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.analysis.specs.request import chosen_version
from stillroom.analysis.specs.sheet import SpecSheet
from stillroom.answers.draft.books import Book, as_if, book_of, frames_of
from stillroom.answers.draft.mixture import bounds, measured_step
from stillroom.errors import UsageError
from stillroom.names import key_of, name_key

if TYPE_CHECKING:
    import duckdb

MOST: Final = 3
"""Amounts that change at once: with more, few sittings say little of each."""
USUAL_PEOPLE: Final = 6
ANYHOW: Final = 0.25
"""What a version may be liked more or less, as a share of the scale, where other lines of it differ, too."""
WIDTH: Final = 8.0
"""Of the scale, points, where nothing was scored yet: 1 to 9."""


@dataclass(frozen=True, kw_only=True)
class Tried:
    """A version that was tasted, beside the one that is held best."""

    version: int
    gain: float
    low: float
    high: float
    """Liking beside that of the best, points, with its 95 % band."""
    otherwise: bool
    """Lines that do not change here differ, too."""


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """A version to taste next."""

    lines: tuple[Line, ...]
    sheet: SpecSheet
    gain: float
    low: float
    high: float
    """Expected liking beside the best, points, with its 95 % band."""
    promise: float
    """Expected gain where it is better, 0 where it is not, points."""


@dataclass(frozen=True, kw_only=True)
class WhatNext:
    """What panels say of a spec, and what to taste next."""

    base: SpecSheet
    """The version that is held best, beside which the others are tasted."""
    items: tuple[str, ...]
    """That may change."""
    step: float
    """Share of an amount that it may move by."""
    scores: int
    people: int
    sittings: int
    width: float
    tried: tuple[Tried, ...]
    again: tuple[int, ...]
    """Versions that cannot be told apart, and may each be the best; fewer than two where none or one is."""
    penalties: pl.DataFrame
    """Of the base: attribute, side, panelists, count, share, drop, low, high, penalty; sides that are worth a look."""
    proposals: tuple[Proposal, ...]


def what_next(
    con: duckdb.DuckDBPyConnection, name: str, how_many: int, step: float, free: Sequence[str] = ()
) -> WhatNext:
    """Two to four versions to taste next, beside the one that is held best.

    Args:
        step: share of an amount by which it may move, above 0.
        free: items that may change, as `bounds` reads them; those in which the tasted versions differ when empty.

    Raises:
        UsageError: something named is not there, or nothing says what may change.
    """
    from stillroom.answers.reporting import view_frames

    if not 2 <= how_many <= 4:
        raise UsageError(f"--next {how_many}: two to four versions are tasted beside the best there is.")
    frames = {**frames_of(con), **view_frames(con, ["panel_scores"])}
    book = book_of(frames)
    today = chosen_version(book.composition.book, name, None)
    scores = _liking(frames["panel_scores"], today, book)
    versions = [book.composition.book.specs[today.key[0], number] for number in sorted(set(scores["version"]))]
    items, limits = _changing(today, versions, free)
    scale = np.array([_scale(item, [today, *versions], limits[item]) * step for item in items])
    places = {spec.version: place for place, spec in enumerate(versions)}
    surface = Surface(_tasted(scores, places, versions, items, scale))
    base = _best(surface, versions, items) or today
    if any(_others(one, items) != _others(base, items) for one in versions):
        own = [OWN if _others(one, items) == _others(base, items) else ANYHOW for one in versions]
        surface = Surface(replace(surface.tasted, own=np.array(own)))
    best = _amounts(base, items) / scale
    candidates = _candidates(base, items, limits, best, scale)
    people = scores.select("session", "panelist").unique().height // max(scores["session"].n_unique(), 1)
    chosen = next_versions(surface, candidates, best, how_many, people or USUAL_PEOPLE)
    return WhatNext(
        base=book.sheet(base),
        items=tuple(items),
        step=step,
        scores=scores.height,
        people=scores["panelist"].n_unique(),
        sittings=scores["session"].n_unique(),
        width=surface.tasted.width,
        tried=_tried(surface, versions, base, items),
        again=tuple(versions[place].version for place in not_told_apart(surface)) if len(versions) > 1 else (),
        penalties=_penalties(frames["panel_scores"], base),
        proposals=_proposals(con, frames, base, items, surface, candidates[chosen], best, scale),
    )


def _best(surface: Surface, versions: Sequence[SpecVersion], items: Sequence[str]) -> SpecVersion | None:
    """The version that is held best, of those that have all that may change."""
    mean, _ = surface.versions()
    whole = [place for place, one in enumerate(versions) if _amounts(one, items).all()]
    return versions[max(whole, key=lambda place: round(float(mean[place]), 9))] if whole else None


# What panels said -----------------------------------------------------------------------------------


def _liking(scores: pl.DataFrame, spec: SpecVersion, book: Book) -> pl.DataFrame:
    """Scores of overall liking of the versions that the book holds, on the scale that most of them have."""
    own = labelled(scores.filter(key_of(pl.col("spec")) == name_key(spec.spec))).filter("primary")
    known = [one.version for one in book.composition.book.versions[name_key(spec.spec)]]
    own = own.filter(pl.col("version").is_in(known))
    scale = pl.struct("scale_low", "scale_high")
    return own.filter(scale == scale.mode().first()) if own.height else own


def _tasted(
    scores: pl.DataFrame, places: Mapping[int, int], versions: Sequence[SpecVersion], items: Sequence[str], scale: Array
) -> Tasted:
    people = scores.select(pl.struct("session", "panelist").rank("dense")).to_series()
    width = float((scores["scale_high"] - scores["scale_low"])[0]) if scores.height else WIDTH
    return Tasted(
        amounts=np.array([_amounts(one, items) / scale for one in versions]).reshape(len(versions), len(items)),
        version=[places[number] for number in scores["version"]],
        person=[int(one) for one in people],
        score=scores["score"].to_numpy().astype(float),
        width=width,
        own=np.full(len(versions), OWN),
    )


def _tried(
    surface: Surface, versions: Sequence[SpecVersion], base: SpecVersion, items: Sequence[str]
) -> tuple[Tried, ...]:
    if not versions:
        return ()
    mean, covariance = surface.versions()
    best = versions.index(base)
    found = []
    for place, one in enumerate(versions):
        sd = float(np.sqrt(max(covariance[place, place] + covariance[best, best] - 2 * covariance[place, best], 0.0)))
        gain = float(mean[place] - mean[best])
        otherwise = _others(one, items) != _others(base, items)
        found.append(
            Tried(version=one.version, gain=gain, low=gain - 1.96 * sd, high=gain + 1.96 * sd, otherwise=otherwise)
        )
    return tuple(found)


def _penalties(scores: pl.DataFrame, base: SpecVersion) -> pl.DataFrame:
    own = scores.filter(key_of(pl.col("spec")) == name_key(base.spec), pl.col("version") == base.version)
    return (
        penalties(own)
        .filter(pl.col("side") != SIDES[1], pl.col("share") >= ENOUGH)
        .sort("penalty", descending=True, nulls_last=True)
    )


# What may change ------------------------------------------------------------------------------------


def _changing(
    today: SpecVersion, versions: Sequence[SpecVersion], free: Sequence[str]
) -> tuple[list[str], dict[str, tuple[float, float]]]:
    """Items that may change, and between what amounts."""
    named = bounds(today.lines, free) if free else {}
    items = list(named) or _differing(today, versions)
    if not items:
        raise UsageError(
            f"The tasted versions of {today.spec} differ in no amount: say what may change, --with 'white sugar,water'."
        )
    if len(items) > MOST:
        raise UsageError(f"--with: {len(items)} items; at most {MOST} change at once, or few sittings say little.")
    there = {name_key(line.item): line for line in today.lines}
    for item in items:
        if item not in there or there[item].base == "each":
            raise UsageError(f"--with '{item}': there is no amount of it to change in {today.label}.")
    return items, {item: named[item][:2] if item in named else (0.0, float("inf")) for item in items}


def _differing(today: SpecVersion, versions: Sequence[SpecVersion]) -> list[str]:
    """Items of today's version whose amounts differ from version to version, those that differ most."""
    found = []
    for line in today.lines:
        item = name_key(line.item)
        there = [float(_amounts(one, [item])[0]) for one in (today, *versions)]
        if line.base != "each" and max(there) - min(there) > 1e-9 * max(there):
            found.append(((max(there) - min(there)) / max(there), item))
    return [item for _, item in sorted(found, reverse=True)[:MOST]]


def _amounts(spec: SpecVersion, items: Sequence[str]) -> Array:
    there = {name_key(line.item): line.base_amount for line in spec.lines}
    return np.array([there.get(item, 0.0) for item in items])


def _scale(item: str, versions: Sequence[SpecVersion], limits: tuple[float, float]) -> float:
    """The amount of which a step is a share: today's, or where there is none today, the most there was."""
    amounts = [float(_amounts(one, [item])[0]) for one in versions]
    return amounts[0] or max(amounts) or limits[1]


def _others(spec: SpecVersion, items: Sequence[str]) -> frozenset[tuple[str, float, str]]:
    """The lines that do not change here."""
    return frozenset(
        (name_key(line.item), round(line.base_amount, 6), line.base)
        for line in spec.lines
        if name_key(line.item) not in items
    )


# What to taste --------------------------------------------------------------------------------------


def _candidates(
    base: SpecVersion, items: Sequence[str], limits: Mapping[str, tuple[float, float]], best: Array, scale: Array
) -> Array:
    """Amounts within a step of the best that can be measured out, each once, the best itself left out."""
    low, high = (np.array([limits[item][end] for item in items]) for end in (0, 1))
    lines = {name_key(line.item): line for line in base.lines}
    now = zip(items, (best * scale).tolist(), strict=True)
    steps = np.array([measured_step(amount, lines[item].base, base.kind) for item, amount in now])
    amounts = np.round(around(best) * scale / steps) * steps
    inside = ((amounts >= np.maximum(low, 0.0) - 1e-9) & (amounts <= high + 1e-9)).all(axis=1)
    apart = np.abs(amounts / scale - best)  # in steps
    inside &= (apart <= 1 + 1e-9).all(axis=1) & (apart > 1e-9).any(axis=1)
    found = np.unique(np.round((amounts / scale)[inside], 9), axis=0)
    if not len(found):
        raise UsageError("--step: within it no amount can be measured out that is another one; allow a larger step.")
    return np.asarray(found)


def _proposals(
    con: duckdb.DuckDBPyConnection,
    frames: Mapping[str, pl.DataFrame],
    base: SpecVersion,
    items: Sequence[str],
    surface: Surface,
    chosen: Array,
    best: Array,
    scale: Array,
) -> tuple[Proposal, ...]:
    gains, lows, highs = gains_over(surface, chosen, best)
    promise = improvement(surface, chosen, best)
    found = []
    for place, steps in enumerate(chosen):
        amounts = dict(zip(items, (steps * scale).tolist(), strict=True))
        lines = tuple(one for line in base.lines if (one := _moved(line, amounts)).base_amount > 0)
        after, drafted = as_if(con, frames, base, lines)
        found.append(
            Proposal(
                lines=lines,
                sheet=after.sheet(drafted),
                gain=float(gains[place]),
                low=float(lows[place]),
                high=float(highs[place]),
                promise=float(promise[place]),
            )
        )
    return tuple(found)


def _moved(line: Line, amounts: Mapping[str, float]) -> Line:
    amount = amounts.get(name_key(line.item))
    if amount is None:
        return line
    return replace(line, amount=line.amount * amount / line.base_amount, base_amount=amount)
