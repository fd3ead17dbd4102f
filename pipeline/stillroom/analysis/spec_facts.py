"""Gathers what a caution may look at: a spec version with all that is in it, and what its batches show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import polars as pl

from stillroom.analysis.composition import Composition, comes_out_share, converted
from stillroom.analysis.spec_book import Line, SpecVersion
from stillroom.objects import SpecFacts


def spec_facts(
    composition: Composition,
    spec: SpecVersion,
    batches: pl.DataFrame,
    fates: pl.DataFrame,
) -> SpecFacts:
    """The facts of one spec version.

    Args:
        batches: the table `batch`: batch, ph.
        fates: the view `batch_fate`: batch, preparation, version, made_on, use_by, spoiled, ended_on.
    """
    making = composition.making(spec)
    inner = {part.key: part for part in _specs_in(composition, spec)}
    masses = _masses(composition, spec)
    whole_mass = making.contents.mass_g + making.contents.left_out_g
    own = _own_fates(fates, spec)
    return SpecFacts(
        spec=spec.spec,
        version=spec.version,
        kind=spec.kind,
        storage=spec.storage,
        keeps_days=spec.keeps_days,
        text=_words(spec),
        parts_text=" ".join(_words(part) for part in inner.values()),
        items=_items(spec, inner.values()),
        allergens=tuple(sorted(making.allergens)),
        abv_pct=making.contents.abv_pct,
        whole=making.whole,
        mass_shares={item: mass / whole_mass for item, mass in masses.items()} if whole_mass > 0 else {},
        ph_measured=_ph(batches, own),
        batches=own.height,
        spoiled_after_days=_spoiled_after(own),
        part_keeps={part.spec: part.keeps_days for part in inner.values() if part.keeps_days is not None},
    )


def _words(spec: SpecVersion) -> str:
    return ". ".join(text for text in (spec.spec, spec.method, spec.note) if text)


def _items(spec: SpecVersion, inner: Iterable[SpecVersion]) -> tuple[str, ...]:
    names = [line.item for line in spec.lines]
    for part in inner:
        names += [line.item for line in part.lines]
    return tuple(dict.fromkeys(names))


def _specs_in(
    composition: Composition, spec: SpecVersion, above: tuple[SpecVersion, ...] = ()
) -> Iterator[SpecVersion]:
    """Every spec version that goes into one, at any depth; a circle is walked once."""
    for line in spec.lines:
        part = _spec_of(composition, line, spec)
        if part is not None and part not in (*above, spec):
            yield part
            yield from _specs_in(composition, part, (*above, spec))


def _spec_of(composition: Composition, line: Line, parent: SpecVersion) -> SpecVersion | None:
    book = composition.book
    return book.version_for(line.item, parent) if book.is_spec(line.item) else None


def _masses(
    composition: Composition, spec: SpecVersion, share: float = 1.0, above: tuple[SpecVersion, ...] = ()
) -> dict[str, float]:
    """Grams of each ingredient in that share of a making, as far as it has a mass."""
    found: dict[str, float] = {}
    for line in spec.lines:
        part = _spec_of(composition, line, spec)
        if part is not None and part not in (*above, spec):
            taken = comes_out_share(line, part, composition.making(part).contents)
            inner = _masses(composition, part, share * taken, (*above, spec)) if taken is not None else {}
            for item, mass in inner.items():
                found[item] = found.get(item, 0.0) + mass
        ingredient = composition.book.ingredient(line.item) if part is None else None
        mass_g = converted(line.base_amount, line.base, "g", ingredient.density_g_ml) if ingredient else None
        if mass_g is not None:
            found[line.item] = found.get(line.item, 0.0) + share * mass_g
    return found


def _own_fates(fates: pl.DataFrame, spec: SpecVersion) -> pl.DataFrame:
    same = pl.col("preparation").str.to_lowercase() == spec.spec.lower()
    return fates.filter(same & (pl.col("version") == spec.version))


def _ph(batches: pl.DataFrame, own: pl.DataFrame) -> tuple[float, ...]:
    measured = batches.filter(pl.col("ph").is_not_null()).join(own.select("batch"), on="batch", how="semi")
    return tuple(measured["ph"].sort().to_list())


def _spoiled_after(own: pl.DataFrame) -> tuple[int, ...]:
    """Days after which batches spoiled before their use-by."""
    sooner = (pl.col("spoiled") > 0) & pl.col("ended_on").is_not_null()
    sooner &= pl.col("use_by").is_null() | (pl.col("ended_on") < pl.col("use_by"))
    days = own.filter(sooner).select((pl.col("ended_on") - pl.col("made_on")).dt.total_days())
    return tuple(sorted(days.to_series().to_list()))
