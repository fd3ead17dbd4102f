"""The spec book: every version of every spec with its lines, and which version is meant where none is named.

Names compare without case. Amounts are held as written and in the base of their dimension: ml, g or pieces.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from stillroom.analysis.specs.ingredients import Ingredient, read_ingredients, unlisted_water
from stillroom.analysis.specs.versions import LAST_OF_DAYS, Versions
from stillroom.analysis.specs.views import VIEWS
from stillroom.names import name_key
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
    making_minutes: float | None
    """Of work."""
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


class SpecBook:
    """All specs and ingredients on a day, found by name.

    Args:
        frames: the views of `VIEWS`.
        day: the day that is looked at.
    """

    def __init__(self, frames: Mapping[str, pl.DataFrame], day: date = LAST_OF_DAYS) -> None:
        self.day = day
        specs, lines, ingredients, spans, aside, known = (frames[view] for view in VIEWS)
        self.spans = Versions(spans)
        self.ingredients: dict[str, Ingredient] = read_ingredients(ingredients, known)
        self.common: tuple[str, ...] = tuple(known["item"].unique(maintain_order=True))
        """Plain names of common ingredients."""
        self.specs: dict[tuple[str, int], SpecVersion] = {}
        self.versions: dict[str, list[SpecVersion]] = {}
        self._aside: list[tuple[str, int | None, str]] = aside.select("name_key", "version", "item").sort("item").rows()
        self._specs_in: dict[tuple[tuple[str, int], date, bool], list[SpecVersion]] = {}
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

    def lines_aside(self, spec: SpecVersion) -> list[str]:
        """Words for the lines of a version that are, or may be its own, and are set aside."""
        name, version = spec.key
        return [words for key, of, words in self._aside if key == name and of in (None, version)]

    def in_service(self, spec: str) -> SpecVersion:
        """The version meant on the book's day."""
        return self._version(spec, self.spans.in_service(spec, self.day))

    def all_in_service(self) -> list[SpecVersion]:
        """Of each spec, the version meant on the book's day."""
        return [self.in_service(versions[0].spec) for versions in self.versions.values()]

    def day_of(self, spec: SpecVersion) -> date:
        """The day whose versions go into a version: the book's, or the day of its service that is nearest to it."""
        return self.spans.nearest_day(spec.spec, spec.version, self.day)

    def version_on(self, item: str, day: date) -> SpecVersion:
        """The version of a spec that was used on a day."""
        return self._version(item, self.spans.in_use(item, day))

    def specs_in(self, spec: SpecVersion, day: date, *, stocked: bool = False) -> list[SpecVersion]:
        """The spec versions that its own lines name on a day, each once.

        Args:
            stocked: all versions of which there may be some in stock, not only those that are used.
        """
        asked = (spec.key, day, stocked)
        if asked not in self._specs_in:
            found: dict[tuple[str, int], SpecVersion] = {}
            for item in (line.item for line in spec.lines if self.is_spec(line.item)):
                numbers = self.spans.in_stock(item, day) if stocked else [self.spans.in_use(item, day)]
                found |= {(part := self._version(item, number)).key: part for number in numbers}
            self._specs_in[asked] = list(found.values())
        return self._specs_in[asked]

    def inside_out(
        self, spec: SpecVersion, day: date, *, stocked: bool = False, but_not: Container[tuple[str, int]] = ()
    ) -> list[SpecVersion]:
        """Every spec version in one on a day, at any depth, and itself last: each after all that go into it.

        Where specs go in a circle, the line that closes it is passed over.

        Args:
            stocked: as `specs_in` has it.
            but_not: keys of versions to leave out, with all that only they hold.
        """
        order: dict[tuple[str, int], SpecVersion] = {}
        path = {spec.key: spec}
        while path:
            last = next(reversed(path.values()))
            inner = self.specs_in(last, day, stocked=stocked)
            waits_for = next((p for p in inner if not (p.key in order or p.key in path or p.key in but_not)), None)
            if waits_for is None:
                order[last.key] = path.pop(last.key)
            else:
                path[waits_for.key] = waits_for
        return list(order.values())

    def used_in(self, spec: str) -> list[tuple[SpecVersion, str]]:
        """The versions in service that hold a spec at any depth, nearest first; each with the part that brings it in.

        Returns:
            (what holds it, the part's name; '' where its own lines name it).
        """
        menu = self.all_in_service()
        found: dict[str, tuple[SpecVersion, str]] = {}
        parts = {name_key(spec): ""}
        seen = set(parts)
        while parts:
            brings_in, parts = parts, {}
            for one in menu:
                key = name_key(one.spec)
                through = [brings_in[part] for line in one.lines if (part := name_key(line.item)) in brings_in]
                if through and key not in seen:
                    found[key] = (one, through[0])
                    parts[key] = one.spec
            seen |= parts.keys()
        return list(found.values())

    def _version(self, spec: str, version: int | None) -> SpecVersion:
        assert version is not None, "every spec has a version meant on every day"
        return self.specs[name_key(spec), version]


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
        making_minutes=row["making_minutes"],
        storage=row["storage"],
        method=row["method"],
        dilution_pct=row.get("dilution_pct"),
        price=None if row["price"] is None else float(row["price"]),
        in_service_from=row["in_service_from"],
        in_service_until=row["in_service_until"],
        note=row["note"],
        lines=lines,
    )
