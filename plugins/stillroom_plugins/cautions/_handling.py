"""Cautions on how it is made and served."""

from __future__ import annotations

from typing import Final

from stillroom.objects import Caution, SpecFacts
from stillroom_plugins.cautions._wording import word_in

FLAMMABLE_ABV: Final = 40.0


def _hot_sugar(facts: SpecFacts) -> str | None:
    word = word_in(facts.text, ["caramel", "sugar work", "hot sugar", "hard crack", "soft ball", "brittle", "molten"])
    word = word or word_in(facts.text, ["boiled sugar", "spun sugar", "pulled sugar", "isomalt"])
    if word is None:
        return None
    return f"Hot sugar work ('{word}'): it sticks, and burns deeper than boiling water: gloves, sleeves, iced water."


def _smoke(facts: SpecFacts) -> str | None:
    if word_in(facts.text, ["smoke", "smoking", "smoky"]) is None:
        return None
    return (
        "Smoke: use food-grade wood only, with air drawn off and the fire alarm's keeper told; "
        "carbon monoxide and polycyclic hydrocarbons harm, and guests with asthma should be told."
    )


def _flame(facts: SpecFacts) -> str | None:
    word = word_in(facts.text, ["flame", "flaming", "flamb", "ignite", "blowtorch", "torch", "set alight", "on fire"])
    if word is None:
        return None
    strength = facts.abv_pct or 0.0
    if strength >= FLAMMABLE_ABV:
        return (
            f"High proof ({strength:.0f} % vol) over flame ('{word}'): never pour from the bottle, keep a lid at hand."
        )
    return (
        f"Open flame ('{word}') near spirits: vapour catches before liquid does, keep bottles shut and a lid at hand."
    )


def _cold(facts: SpecFacts) -> str | None:
    text = " ".join([facts.text, facts.parts_text, *facts.items])
    word = word_in(text, ["dry ice", "liquid nitrogen", "nitro-muddle", "cryo"])
    if word is None:
        return None
    return (
        f"'{word}': burns skin and gut, and takes the air out of a closed room. "
        "Nothing of it may be left in the glass when it is served."
    )


CAUTIONS: Final = (
    Caution(
        name="hot-sugar",
        title="Hot sugar",
        source="CPSC 5098 on scalds: 66 °C burns an adult deeply in 2 s (from memory); sugar at 150 °C and more",
        check=_hot_sugar,
    ),
    Caution(
        name="smoke",
        title="Smoke",
        source="common practice, no source",
        check=_smoke,
    ),
    Caution(
        name="flame",
        title="Spirits and flame",
        source="common practice, no source; strong spirits give off flammable vapour at room temperature",
        check=_flame,
    ),
    Caution(
        name="dry-ice-and-nitrogen",
        title="Dry ice, liquid nitrogen",
        source="FDA safety alert on liquid nitrogen and dry ice in food, 2018 (from memory)",
        check=_cold,
    ),
)
"""What burns, and what takes the air out of a room."""
