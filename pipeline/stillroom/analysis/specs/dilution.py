"""Water that chilling adds to a drink."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.liquids import WATER_DENSITY

USUAL_PCT: Final = {
    "built": 15.0,
    "stirred": 30.0,
    "thrown": 30.0,
    "shaken": 40.0,
    "blended": 60.0,
    "batched": 0.0,
}
"""Water added, % of the volume before, by the word a method begins with. Common practice, from memory, no source: ice,
time and glass move each by ten points and more. Batched: the water is a line of the spec."""


@dataclass(frozen=True, kw_only=True)
class Dilution:
    """How much water chilling adds, and how that is known."""

    pct: float
    """% of the volume before."""
    measured: bool
    """The spec says so; else it is the usual figure of the method."""
    said: str
    """One sentence for people."""


def dilution(method: str | None, measured_pct: float | None) -> Dilution | None:
    """The dilution of a drink; None where neither a measured figure nor a method that has a usual one is stated.

    >>> dilution("stirred, 30 s", None).pct
    30.0
    """
    if measured_pct is not None:
        return Dilution(pct=measured_pct, measured=True, said=f"chilling adds {measured_pct:g} % water (measured)")
    words = re.findall(r"\w+", (method or "").casefold())
    usual = next((word for word in words if word in USUAL_PCT), None)
    if usual is None:
        return None
    pct = USUAL_PCT[usual]
    said = (
        f"chilling is taken to add {pct:g} % water, as usual for '{usual}' (common practice, from memory; not measured)"
    )
    return Dilution(pct=pct, measured=False, said=said)


def chilled(contents: Contents, water: Dilution) -> Contents:
    """A drink after chilling: water added as a share of its volume."""
    return replace(contents, water_g=contents.water_g + contents.volume_ml * water.pct / 100 * WATER_DENSITY)
