"""Gathers what a caution may look at: a spec version with all that is in it, and what its batches show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from stillroom.analysis.specs.book import Line, SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition, comes_out_share
from stillroom.analysis.specs.contents import converted
from stillroom.names import key_of, name_key
from stillroom.objects import SpecFacts


@dataclass(frozen=True, kw_only=True)
class BatchHistory:
    """What the batch book shows of one spec version."""

    batches: int = 0
    ph_measured: tuple[float, ...] = ()
    spoiled_after_days: tuple[int, ...] = ()
    """Days after which batches were logged as spoiled before their use-by."""


def batch_history(batches: pl.DataFrame, fates: pl.DataFrame) -> dict[tuple[str, int], BatchHistory]:
    """The batches of each spec version, by name (without case) and version.

    Args:
        batches: the table `batch`: batch, ph.
        fates: the view `batch_fate`: batch, preparation, version, made_on, use_by, spoiled_on.
    """
    sooner = pl.col("spoiled_on").is_not_null()
    sooner &= pl.col("use_by").is_null() | (pl.col("spoiled_on") < pl.col("use_by"))
    days = (pl.col("spoiled_on") - pl.col("made_on")).dt.total_days()
    by_version = (
        fates.join(batches.select("batch", "ph"), on="batch", how="left")
        .group_by(key_of(pl.col("preparation")).alias("preparation"), "version")
        .agg(
            pl.len().alias("batches"),
            pl.col("ph").drop_nulls().sort().alias("ph"),
            days.filter(sooner).sort().alias("spoiled"),
        )
    )
    return {
        (name_key(row["preparation"]), row["version"]): BatchHistory(
            batches=row["batches"], ph_measured=tuple(row["ph"]), spoiled_after_days=tuple(row["spoiled"])
        )
        for row in by_version.iter_rows(named=True)
    }


def spec_facts(
    composition: Composition, spec: SpecVersion, history: Mapping[tuple[str, int], BatchHistory]
) -> SpecFacts:
    """The facts of one spec version; of each spec in it, of every version of which there may be some in stock.

    Args:
        history: as `batch_history` gives it.
    """
    making = composition.making(spec)
    day = composition.book.day_of(spec)
    inner = composition.book.inside_out(spec, day, stocked=True)[-2::-1]
    masses = _masses(composition, composition.book.inside_out(spec, day), day)
    whole_mass = making.contents.mass_g + making.contents.left_out_g
    own = history.get(spec.key, BatchHistory())
    return SpecFacts(
        spec=spec.spec,
        version=spec.version,
        kind=spec.kind,
        storage=spec.storage,
        keeps_days=spec.keeps_days,
        text=_words(spec),
        parts_text=" ".join(_words(part) for part in inner),
        items=_items(spec, inner),
        allergens=composition.allergens(spec),
        abv_pct=making.contents.abv_pct,
        whole=making.whole,
        mass_shares={item: mass / whole_mass for item, mass in masses.items()} if whole_mass > 0 else {},
        ph_measured=own.ph_measured,
        batches=own.batches,
        spoiled_after_days=own.spoiled_after_days,
        part_keeps=_shortest_keeps(inner),
    )


def _shortest_keeps(inner: Iterable[SpecVersion]) -> dict[str, float]:
    stated = [(part.keeps_days, part.spec) for part in inner if part.keeps_days is not None]
    return {spec: keeps for keeps, spec in sorted(stated, reverse=True)}


def _words(spec: SpecVersion) -> str:
    return ". ".join(text for text in (spec.spec, spec.method, spec.note) if text)


def _items(spec: SpecVersion, inner: Iterable[SpecVersion]) -> tuple[str, ...]:
    names = [line.item for line in spec.lines]
    for part in inner:
        names += [line.item for line in part.lines]
    return tuple(dict.fromkeys(names))


def _masses(composition: Composition, inside_out: list[SpecVersion], day: date) -> dict[str, float]:
    """Grams of each ingredient in one making of the last of those specs, as far as it has a mass."""
    book = composition.book
    shares = {inside_out[-1].key: 1.0}
    found: dict[str, float] = {}
    for spec in reversed(inside_out):
        share = shares.get(spec.key, 0.0)
        for line in spec.lines:
            if book.is_spec(line.item):
                part = book.version_on(line.item, day)
                taken = comes_out_share(line, part, composition.making(part, day).contents) or 0.0
                shares[part.key] = shares.get(part.key, 0.0) + share * taken
            elif (mass := _mass(book, line)) is not None:
                found[line.item] = found.get(line.item, 0.0) + share * mass
    return found


def _mass(book: SpecBook, line: Line) -> float | None:
    ingredient = book.ingredient(line.item)
    return converted(line.base_amount, line.base, "g", ingredient.density_g_ml) if ingredient else None
