"""The figures of a mixture as they are shown, and of every version of every spec as a frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from operator import attrgetter
from typing import Any, Final

import polars as pl

from stillroom.analysis.specs.acids import ACIDS
from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.composition import Composition, Making
from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.dilution import Dilution, chilled, dilution

NEAR: Final = 0.02
"""Shares of what should come out within which a stated yield agrees with it: 2 %, a careful measuring jug."""


@dataclass(frozen=True, kw_only=True)
class Figures:
    """A mixture at 20 °C; None where there is none of it to divide by."""

    volume_ml: float
    mass_g: float
    density_g_ml: float | None
    abv_pct: float | None
    alcohol_g: float
    standard_drinks: float | None
    """None where no national definition is set."""
    sugar_g_100ml: float | None
    brix: float | None
    acid_g_100ml: float | None
    """As citric acid."""
    sugar_acid_ratio: float | None
    water_g: float
    """Water, and whatever else is dissolved and not told apart."""
    brix_low: float | None
    brix_high: float | None
    sugar_low_g_100ml: float | None
    sugar_high_g_100ml: float | None
    acid_low_g_100ml: float | None
    acid_high_g_100ml: float | None
    sugar_acid_low: float | None
    sugar_acid_high: float | None
    """The ends, were all that has a range in the price list at the same end at once; None where nothing has one."""
    citric_g_100ml: float
    malic_g_100ml: float
    tartaric_g_100ml: float
    lactic_g_100ml: float
    acetic_g_100ml: float
    phosphoric_g_100ml: float
    """What of the acid is known to be of a kind, each in grams of its own."""


def figures(contents: Contents, standard_drink_g: float | None = None) -> Figures:
    """The figures of a mixture.

    Args:
        contents: what is in it.
        standard_drink_g: pure alcohol in a standard drink, g.
    """
    return Figures(
        volume_ml=contents.volume_ml,
        mass_g=contents.mass_g,
        density_g_ml=contents.density_g_ml,
        abv_pct=contents.abv_pct,
        alcohol_g=contents.alcohol_g,
        standard_drinks=contents.alcohol_g / standard_drink_g if standard_drink_g else None,
        sugar_g_100ml=contents.sugar_g_100ml,
        brix=contents.brix,
        acid_g_100ml=contents.acid_g_100ml,
        sugar_acid_ratio=contents.sugar_acid_ratio,
        water_g=contents.water_g,
        **_ends(contents),
        **{f"{kind}_g_100ml": 100 * getattr(contents, f"{kind}_g") / (contents.volume_ml or 1.0) for kind in ACIDS},
    )


def ends(
    contents: Contents, figure: Callable[[Contents], float | None], *, sugar: int = 0, acid: int = 0
) -> tuple[float, float] | None:
    """Both ends of a figure, were all that has a range at its end; None where nothing has one.

    Args:
        sugar: 1 where the figure rises with sugar, -1 where it falls, 0 where it does not move.
        acid: the same of acid.
    """
    if not contents.has_range:
        return None
    low, high = (figure(contents.at_end(sugar=end * sugar, acid=end * acid)) for end in (-1, 1))
    return None if low is None or high is None else (low, high)


def _ends(contents: Contents) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for figure, (sugar, acid, *names) in _ENDS.items():
        both = ends(contents, attrgetter(figure), sugar=sugar, acid=acid)
        found |= dict(zip(names, both or (None, None), strict=True))
    return found


_ENDS: Final[dict[str, tuple[int, int, str, str]]] = {
    "brix": (1, 0, "brix_low", "brix_high"),
    "sugar_g_100ml": (1, 0, "sugar_low_g_100ml", "sugar_high_g_100ml"),
    "acid_g_100ml": (0, 1, "acid_low_g_100ml", "acid_high_g_100ml"),
    "sugar_acid_ratio": (1, -1, "sugar_acid_low", "sugar_acid_high"),
}
"""Figure -> how it moves with sugar and acid, and what its ends are called."""


@dataclass(frozen=True, kw_only=True)
class Yield:
    """What a making should give against what its spec says it gives; both in the spec's own base unit."""

    worked_out: float | None
    """Of what goes in, contraction included; None where it cannot be: pieces and serves."""
    stated: float
    unit: str
    said: str
    """One sentence for people; empty where there is nothing to compare."""

    @property
    def share(self) -> float | None:
        """Stated over worked out."""
        return self.stated / self.worked_out if self.worked_out else None


def more_than_goes_in(composition: Composition, spec: SpecVersion) -> str | None:
    """By how much more comes out of a spec than goes in, in words; None where it does not, or a part is not known."""
    making = composition.making(spec)
    comes_out = yield_of(spec, making)
    return comes_out.said if making.whole and comes_out.share is not None and comes_out.share > 1 + NEAR else None


def yield_of(spec: SpecVersion, making: Making) -> Yield:
    """Compares the stated yield of one making with the volume or mass of what goes in."""
    worked_out = {"ml": making.contents.volume_ml, "g": making.contents.mass_g}.get(spec.yield_base)
    comparable = Yield(worked_out=worked_out or None, stated=spec.yield_amount, unit=spec.yield_base, said="")
    if comparable.share is None or worked_out is None:
        return comparable
    both = f"{worked_out:.0f} {spec.yield_base} should come out, the spec says {spec.yield_amount:.0f}"
    if not making.whole:
        said = f"{both}; not all that goes in could be counted"
    elif abs(comparable.share - 1) <= NEAR:
        said = f"{both}: they agree"
    elif comparable.share < 1:
        said = f"{both}: {100 * (1 - comparable.share):.0f} % is lost on the way, taken as mixture left behind"
    else:
        said = f"{both}: {100 * (comparable.share - 1):.0f} % more than goes in, counted as water where it is used"
    return Yield(worked_out=worked_out, stated=spec.yield_amount, unit=spec.yield_base, said=said)


@dataclass(frozen=True, kw_only=True)
class Glass:
    """What is served of a drink, or made of anything else."""

    before: Contents
    """Of one serve of a drink before chilling; of one making of anything else."""
    served: Contents
    """After chilling; the same as before where nothing is chilled or nothing says how."""
    water: Dilution | None
    """None where nothing says how a drink is chilled, and for all that is not a drink."""


def glass(spec: SpecVersion, making: Making) -> Glass:
    """A serve of a drink, chilled; a making of anything else, as it is."""
    if spec.kind != "drink":
        return Glass(before=making.contents, served=making.contents, water=None)
    before = making.contents.times(1 / spec.serves)
    return Glass(before=before, served=served(spec, before), water=chilling(spec))


def chilling(spec: SpecVersion) -> Dilution | None:
    """The water that chilling adds to a drink; None where nothing says how, and of all that is not a drink."""
    return dilution(spec.method, spec.dilution_pct) if spec.kind == "drink" else None


def served(spec: SpecVersion, contents: Contents) -> Contents:
    """What is served of some of a spec: a drink is chilled."""
    water = chilling(spec)
    return chilled(contents, water) if water else contents


def figures_by_version(composition: Composition, standard_drink_g: float | None = None) -> pl.DataFrame:
    """The figures of every version: of a serve of a drink as served, of a making of anything else.

    Returns:
        spec, version, kind, whole, dilution_pct, dilution_measured, allergens, the fields of `Figures`.
    """
    rows = []
    for spec in composition.book.specs.values():
        making = composition.making(spec)
        poured = glass(spec, making)
        rows.append(
            {
                "spec": spec.spec,
                "version": spec.version,
                "kind": spec.kind,
                "whole": making.whole,
                "dilution_pct": poured.water.pct if poured.water else None,
                "dilution_measured": poured.water.measured if poured.water else None,
                "allergens": ", ".join(composition.allergens(spec)),
                **vars(figures(poured.served, standard_drink_g)),
            }
        )
    schema = {
        "spec": pl.String,
        "version": pl.Int64,
        "kind": pl.String,
        "whole": pl.Boolean,
        "dilution_pct": pl.Float64,
        "dilution_measured": pl.Boolean,
        "allergens": pl.String,
        **{field.name: pl.Float64 for field in fields(Figures)},
    }
    return pl.DataFrame(rows, schema=schema).sort("spec", "version")
