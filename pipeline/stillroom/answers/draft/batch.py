"""What to add to a batch, as it was measured, to bring it to its target."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom.analysis.batches.measured import apparent_brix
from stillroom.analysis.bench.aims import read_aim
from stillroom.analysis.bench.correcting import NEAR, mass_of, to_add
from stillroom.analysis.bench.edits import line_of
from stillroom.analysis.specs.request import chosen_version
from stillroom.analysis.specs.scaling import weighable
from stillroom.answers.advice import DEFERRAL
from stillroom.answers.draft.books import Book, book_of, frames_of
from stillroom.errors import UsageError
from stillroom.names import key_of, name_key
from stillroom.words import amount, shortest, wrapped
from stillroom_schemas.units import conversions

if TYPE_CHECKING:
    import duckdb

USUAL: Final = ("white sugar", "water")
"""What is added unless something is named."""
NOT_ACID: Final = (
    "pH is not acid: how far acid moves it depends on all that buffers it, so no amount is reckoned from it. Add a "
    "little, stir, measure again. Bringing a pH down here is for taste, and no safety process."
)


@dataclass(frozen=True, kw_only=True)
class Addition:
    """One thing that would do it, alone."""

    item: str
    grams: float


@dataclass(frozen=True, kw_only=True)
class Correction:
    """A batch beside its target."""

    batch: str
    spec: str
    version: int
    made: float
    unit: str
    brix: float
    target: float
    aimed: bool
    """The target was named; else it is what the spec works out at."""
    additions: tuple[Addition, ...]
    ph: float | None
    usual_ph: tuple[float, int] | None
    """Median of the other batches of the version, and how many were measured."""


def correction(
    con: duckdb.DuckDBPyConnection, name: str, label: str, aims: Sequence[str], items: Sequence[str]
) -> Correction:
    """How much of each item, alone, brings a batch to its °Brix.

    Args:
        aims: none, or 'brix=40'; without one, what the spec works out at.
        items: what may be added; `USUAL` when empty.

    Raises:
        UsageError: there is no such batch or item, it was not measured, or its target is not known.
    """
    frames = frames_of(con)
    book = book_of(frames)
    row = _batch(frames, chosen_version(book.composition.book, name, None).spec, label)
    fates = frames["batch_fate"].filter(pl.col("batch") == row["batch"])
    version = int(fates["version"][0])
    base, factor = conversions()[row["made_unit"]]
    if row["brix"] is None:
        raise UsageError(f"--batch '{label}': the batch book has no °Brix of it.")
    target = _target(book, row["preparation"], version, aims)
    mass = mass_of(row["made_amount"] * factor, base, row["brix"])
    if mass is None:
        raise UsageError(f"--batch '{label}': it was made in pieces, which have no °Brix.")
    found = []
    for item in items or USUAL:
        grams = to_add(mass, row["brix"], target, _solids(book, item))
        if grams is not None:
            found.append(Addition(item=item, grams=grams))
    return Correction(
        batch=row["batch"],
        spec=row["preparation"],
        version=version,
        made=row["made_amount"] * factor,
        unit=base,
        brix=row["brix"],
        target=target,
        aimed=bool(aims),
        additions=tuple(found),
        ph=row["ph"],
        usual_ph=_usual_ph(frames, row, version),
    )


def _batch(frames: Mapping[str, pl.DataFrame], spec: str, label: str) -> dict[str, Any]:
    """The row of a batch of a spec, by its label."""
    named = frames["current_batch"].filter(key_of(pl.col("batch")) == name_key(label))
    own = named.filter(key_of(pl.col("preparation")) == name_key(spec))
    if own.is_empty():
        of = f"; it is one of {named['preparation'][0]}" if named.height else ""
        raise UsageError(f"--batch '{label}': the batch book has no such batch of {spec}{of}.")
    return own.row(0, named=True)


def _target(book: Book, spec: str, version: int, aims: Sequence[str]) -> float:
    if aims:
        aim = read_aim(aims[0])
        if len(aims) > 1 or aim.figure != "brix" or aim.relation != "=":
            raise UsageError("--batch: a batch is brought to a °Brix: give one aim, such as --aim 'brix=40'.")
        return aim.value
    target = apparent_brix(book.composition, spec, version)
    if target is None:
        raise UsageError(
            f"--batch: the °Brix that {spec}, version {version}, works out at is not known (a part is not, or there is "
            "alcohol in it, which a refractometer does not read past): name it, --aim 'brix=40'."
        )
    return target


def _solids(book: Book, item: str) -> float:
    """What a refractometer would show of an item, g in 100 g."""
    specs = book.composition.book
    if book.spelling(item) is None:
        raise UsageError(f"--with '{item}': the price list and the spec book hold no such item.")
    if specs.is_spec(item):
        return book.composition.making(specs.in_service(item)).contents.apparent_brix or 0.0
    contents = book.composition.part(line_of(item, 100.0, "g"), specs.day).contents
    if contents.apparent_brix is None:
        raise UsageError(f"--with '{item}': nothing says what is in it.")
    return contents.apparent_brix


def _usual_ph(frames: Mapping[str, pl.DataFrame], row: Mapping[str, Any], version: int) -> tuple[float, int] | None:
    own = frames["batch_fate"].filter(
        key_of(pl.col("preparation")) == name_key(row["preparation"]), pl.col("version") == version
    )
    others = frames["current_batch"].filter(
        pl.col("batch").is_in(own["batch"].implode()), pl.col("batch") != row["batch"]
    )
    measured = others["ph"].drop_nulls().to_list()
    return (median(measured), len(measured)) if measured else None


def correction_text(found: Correction) -> str:
    """The correction for people."""
    return "\n".join(line for text in _sentences(found) for line in wrapped(text, then="  ")) + "\n"


def _sentences(found: Correction) -> Iterator[str]:
    whose = "aimed at" if found.aimed else f"what version {found.version} works out at"
    yield f"{found.batch}, {found.spec}: {found.brix:.1f} °Brix measured; {found.target:.1f} is {whose}."
    if abs(found.brix - found.target) <= NEAR:
        yield "It is on its target: nothing to add."
    elif not found.additions:
        yield "None of these leads there: name another with --with."
    else:
        yield f"To {amount(found.made, found.unit)}, as made, add one of:"
        for one in found.additions:
            yield f"  {shortest(weighable(one.grams))} g {one.item}"
        yield "Of what is left of it, the same share. Stir, let it dissolve, and measure again before more is added."
    if found.ph is not None:
        usual = (
            f"; the others of this version: {found.usual_ph[0]:.1f} ({found.usual_ph[1]} measured)"
            if found.usual_ph
            else ""
        )
        yield f"pH {found.ph:.1f}{usual}. {NOT_ACID}"
    yield f"How long a corrected batch keeps was not tested: keep it no longer than its use-by. {DEFERRAL}"
