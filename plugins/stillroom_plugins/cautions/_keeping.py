"""Cautions on how long a preparation keeps."""

from __future__ import annotations

from typing import Final

from stillroom.objects import Caution, SpecFacts
from stillroom_plugins.cautions._names import LOW_ACID_IN_OIL
from stillroom_plugins.cautions._wording import named

FOOD_CODE_DAYS: Final = 7
"""Calendar days, the day of making being the first (FDA Food Code 3-501.17)."""
ACID_PH: Final = 4.6
"""At or below this finished pH a food is an acid one (21 CFR 114.3)."""
ASSESSED_PH: Final = 4.2
"""From this pH up to `ACID_PH` unheated food with water activity above 0.92 is to be assessed (Food Code table B)."""


def _kept_long(facts: SpecFacts) -> bool:
    """Whether it is kept longer than food that is neither acid nor dry may be: 7 days cold, else hours."""
    if facts.kind == "drink" or facts.keeps_days is None or facts.storage == "freezer":
        return False
    if facts.storage == "ambient":
        return facts.kind != "garnish"
    return int(facts.keeps_days) + 1 > FOOD_CODE_DAYS


def _ph(facts: SpecFacts) -> str | None:
    days = facts.keeps_days
    if not _kept_long(facts) or days is None:
        return None
    where = {"fridge": "in the fridge", "ambient": "at room temperature"}.get(
        facts.storage or "", "where is not stated"
    )
    keeps = f"Said to keep {days:g} days ({where}), to day {int(days) + 1} with the day of making as the first"
    rule = f"food that needs keeping cold is used within {FOOD_CODE_DAYS} calendar days"
    if facts.storage == "ambient":
        rule = "food that needs keeping cold may not stand at room temperature for more than 4 hours"
    alcohol = f" It is {facts.abv_pct:.0f} % vol, and 21 CFR 114 leaves alcoholic drinks out." if facts.abv_pct else ""
    if not facts.ph_measured:
        return f"{keeps}, and no pH is measured: without pH and water activity, {rule}.{alcohol}"
    highest = max(facts.ph_measured)
    if highest <= ACID_PH:
        return None
    return f"{keeps}, and its pH was measured at up to {highest:.1f}, above {ACID_PH}: {rule}.{alcohol}"


def _assessment(facts: SpecFacts) -> str | None:
    highest = max(facts.ph_measured, default=0.0)
    if not _kept_long(facts) or not ASSESSED_PH <= highest <= ACID_PH:
        return None
    return (
        f"Its pH was measured at up to {highest:.1f}. From {ASSESSED_PH} to {ACID_PH} acid alone does not settle it: "
        "unless it is heated and then sealed, or its water activity is 0.92 or less, whether it keeps without "
        "time and temperature control has to be assessed for this product."
    )


def _in_oil(facts: SpecFacts) -> str | None:
    oils = named(facts.items, ["oil"], ["essential oil"]) if facts.kind != "drink" else []
    plants = named(facts.items, LOW_ACID_IN_OIL, ["oil"])
    if not oils or not plants:
        return None
    return (
        f"{', '.join(plants)} in oil ({', '.join(oils)}): without air and acid botulism can grow in it unseen, and "
        "whether it keeps safely cannot be told from pH and water activity alone."
    )


def _keep(facts: SpecFacts) -> str | None:
    if not facts.spoiled_after_days:
        return None
    first, count = min(facts.spoiled_after_days), len(facts.spoiled_after_days)
    stated = f"{facts.keeps_days:g} days" if facts.keeps_days else "the use-by on the label"
    return f"{count} of {facts.batches} batches spoiled before {stated}, the soonest after {first} days."


def _outlives(facts: SpecFacts) -> str | None:
    if facts.keeps_days is None or facts.storage == "freezer" or not facts.part_keeps:
        return None
    part, days = min(facts.part_keeps.items(), key=lambda item: (item[1], item[0]))
    if days >= facts.keeps_days:
        return None
    return (
        f"It is said to keep {facts.keeps_days:g} days, but {part} in it keeps {days:g}: "
        "a mixture keeps the date of its earliest-made part unless the process makes it safe."
    )


CAUTIONS: Final = (
    Caution(
        name="ph-and-days",
        title="Keeps longer than 7 days",
        source="FDA Food Code 3-501.17(A) and 21 CFR 114.3, both read in adopted or printed form; "
        "3-501.19, time at room temperature (from memory)",
        check=_ph,
    ),
    Caution(
        name="acidity-to-assess",
        title="Acidity to be assessed",
        source="FDA Food Code 1-201.10, table B, as adopted in Tenn. 0080-04-09-.01 (read)",
        check=_assessment,
    ),
    Caution(
        name="plants-in-oil",
        title="Plants in oil",
        source="FDA Food Code 1-201.10, garlic-in-oil mixtures (from memory)",
        check=_in_oil,
    ),
    Caution(
        name="keep-not-borne-out",
        title="Keep not borne out",
        source="the house's own batch book",
        check=_keep,
    ),
    Caution(
        name="outlives-its-parts",
        title="Keeps longer than a part",
        source="FDA Food Code 3-501.17, as adopted in Minn. R. 4626.0400 C (read)",
        check=_outlives,
    ),
)
"""Whether it keeps as long as it is said to."""
