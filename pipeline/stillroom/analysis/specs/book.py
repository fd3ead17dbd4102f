"""The spec book: every version of every spec with its lines, and which version is meant where none is named.

Names compare without case. Amounts are held as written and in the base of their dimension: ml, g or pieces.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from stillroom.analysis.specs.ingredients import Ingredient, name_key, read_ingredients, unlisted_water
from stillroom.analysis.specs.service import Span, in_service, served
from stillroom_schemas.units import ALSO, conversions

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a spec version."""

    item: str
    amount: float
    unit: str
    """Amount and unit as written."""
    base_amount: float
    base: str
    """The same in ml, g or each."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecVersion:
    """One version of a spec, as its author wrote it."""

    spec: str
    version: int
    kind: str
    yield_amount: float
    """What one making gives, in `yield_base` (ml, g or each)."""
    yield_base: str
    keeps_days: float | None
    storage: str | None
    method: str | None
    dilution_pct: float | None
    """Water that chilling adds, % of the volume before; None where it was not measured."""
    price: float | None
    in_service_from: date | None
    in_service_until: date | None
    note: str | None
    lines: tuple[Line, ...]

    @property
    def key(self) -> tuple[str, int]:
        """How the book finds it."""
        return name_key(self.spec), self.version

    @property
    def label(self) -> str:
        """How messages call it."""
        return f"{self.spec}, version {self.version}"

    @property
    def serves(self) -> float:
        """Serves that one making of a drink gives; 1 where its yield is not in serves, and for anything else."""
        return self.yield_amount if self.kind == "drink" and self.yield_base == "each" else 1.0

    @property
    def first_day(self) -> date:
        """First day in service; the first day there is, where it is not written."""
        return self.in_service_from or date.min

    @property
    def last_day(self) -> date:
        """Last day in service; the last day there is, while it is on."""
        return self.in_service_until or date.max


class SpecBook:
    """All specs and ingredients, found by name.

    Args:
        specs, lines, ingredients: columns of the tables `spec`, `spec_line` and `ingredient`.
        day: the day whose versions are meant inside other specs; None = the rule of `version_for`.
    """

    def __init__(
        self, specs: pl.DataFrame, lines: pl.DataFrame, ingredients: pl.DataFrame, day: date | None = None
    ) -> None:
        self.day = day
        self.ingredients: dict[str, Ingredient] = read_ingredients(ingredients)
        self.specs: dict[tuple[str, int], SpecVersion] = {}
        self.versions: dict[str, list[SpecVersion]] = {}
        self._specs_in: dict[tuple[str, int], list[SpecVersion]] = {}
        lines_of = _lines_by_spec(lines)
        rows = specs.sort("version").to_dicts()
        spelling = {name_key(row["spec"]): row["spec"] for row in rows}  # that of the highest version
        for row in rows:
            row["spec"] = spelling[name_key(row["spec"])]
            version = _spec_version(row, lines_of.get((name_key(row["spec"]), row["version"]), ()))
            self.specs[version.key] = version
            self.versions.setdefault(name_key(row["spec"]), []).append(version)

    def is_spec(self, item: str) -> bool:
        """Whether an item is made here rather than bought."""
        return name_key(item) in self.versions

    def ingredient(self, item: str) -> Ingredient | None:
        """The ingredient of that name, or water; None where the price list does not hold it."""
        return self.ingredients.get(name_key(item)) or unlisted_water(item)

    def find(self, spec: str, version: int) -> SpecVersion | None:
        """A version by its name and number."""
        return self.specs.get((name_key(spec), version))

    def version_on(self, spec: str, day: date) -> SpecVersion:
        """The version in service on a day, by the rule of `in_service`."""
        versions = self.versions[name_key(spec)]
        return versions[in_service(_spans(versions), day)]

    def version_for(self, item: str, parent: SpecVersion) -> SpecVersion:
        """Which version of a spec goes into a parent that does not say.

        With a day: the version in service on it. Without: the highest that came into service no later than the parent
        went out, or the first where none had.
        """
        if self.day is not None:
            return self.version_on(item, self.day)
        versions = self._served(item)
        begun = [v for v in versions if v.first_day <= parent.last_day]
        return begun[-1] if begun else versions[0]

    def specs_in(self, spec: SpecVersion) -> list[SpecVersion]:
        """The spec versions that its own lines name, each once."""
        if spec.key not in self._specs_in:
            inner = [self.version_for(line.item, spec) for line in spec.lines if self.is_spec(line.item)]
            self._specs_in[spec.key] = list({part.key: part for part in inner}.values())
        return self._specs_in[spec.key]

    def inside_out(self, spec: SpecVersion, but_not: Container[tuple[str, int]] = ()) -> list[SpecVersion]:
        """Every spec version in one, at any depth, and itself last: each after all that go into it.

        Where specs go in a circle, the line that closes it is passed over.

        Args:
            but_not: keys of versions to leave out, with all that only they hold.
        """
        order: dict[tuple[str, int], SpecVersion] = {}
        path = {spec.key: spec}
        while path:
            last = next(reversed(path.values()))
            waits_for = next(
                (p for p in self.specs_in(last) if not (p.key in order or p.key in path or p.key in but_not)), None
            )
            if waits_for is None:
                order[last.key] = path.pop(last.key)
            else:
                path[waits_for.key] = waits_for
        return list(order.values())

    def latest(self, spec: str) -> SpecVersion:
        """The version in service on the book's day; without a day, the one that came into service last."""
        if self.day is not None:
            return self.version_on(spec, self.day)
        return max(self._served(spec), key=lambda v: (v.first_day, v.version))

    def has_served(self, version: SpecVersion) -> bool:
        """Whether a version is or was to be in service: not a trial."""
        return version in self._served(version.spec)

    def _served(self, spec: str) -> list[SpecVersion]:
        """Versions that are or were in service; one without dates is a trial where another has some."""
        versions = self.versions[name_key(spec)]
        return [versions[place] for place in served(_spans(versions))]


def _spans(versions: list[SpecVersion]) -> list[Span]:
    return [(version.in_service_from, version.in_service_until) for version in versions]


def _lines_by_spec(lines: pl.DataFrame) -> dict[tuple[str, int], tuple[Line, ...]]:
    found: dict[tuple[str, int], list[Line]] = {}
    units = conversions()
    columns = ["spec", "version", "item", "amount", "unit"]
    for spec, version, item, amount, unit in lines.sort("spec", "version", "line").select(columns).iter_rows():
        base, factor = units[unit]
        line = Line(item=item, amount=amount, unit=ALSO.get(unit, unit), base_amount=amount * factor, base=base)
        found.setdefault((name_key(spec), version), []).append(line)
    return {key: tuple(value) for key, value in found.items()}


def _spec_version(row: dict[str, Any], lines: tuple[Line, ...]) -> SpecVersion:
    base, factor = conversions()[row["yield_unit"]]
    return SpecVersion(
        spec=row["spec"],
        version=row["version"],
        kind=row["kind"],
        yield_amount=row["yield_amount"] * factor,
        yield_base=base,
        keeps_days=row["keeps_days"],
        storage=row["storage"],
        method=row["method"],
        dilution_pct=row.get("dilution_pct"),
        price=None if row["price"] is None else float(row["price"]),
        in_service_from=row["in_service_from"],
        in_service_until=row["in_service_until"],
        note=row["note"],
        lines=lines,
    )
