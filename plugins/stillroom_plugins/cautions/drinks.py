"""The built-in cautions: what in a drink or a preparation can hurt someone, each with what it rests on.

They find what they look for by the words of a spec (name, method, note) and the names of what is in it, so a spec that
does not say 'smoked' is not known to be. None of them is a clearance: a spec without a caution is not a safe one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import Final

from stillroom import hookimpl
from stillroom.objects import Caution, SpecFacts
from stillroom_plugins.cautions._names import (
    EGG,
    FORAGED,
    LOOKS_LIKE,
    LOW_ACID_IN_OIL,
    MILK,
    NOT_MILK,
    POLYOLS,
    RISKY,
)

FOOD_CODE_DAYS: Final = 7
"""Calendar days, the day of making being the first (FDA Food Code 3-501.17)."""
ACID_PH: Final = 4.6
"""At or below this finished pH a food is an acid one (21 CFR 114.3)."""
ASSESSED_PH: Final = 4.2
"""From this pH up to `ACID_PH` unheated food with water activity above 0.92 is to be assessed (Food Code table B)."""
POLYOL_SHARE: Final = 0.10 + 1e-9
"""More than 10 %: a sum of shares that is 10 % may come out a rounding above it."""
FLAMMABLE_ABV: Final = 40.0


def _word(text: str, words: Iterable[str]) -> str | None:
    """The first place in a text where one of some words begins a word, without case."""
    found = _pattern(tuple(words), "").search(text)
    return found[0].casefold() if found else None


def _named(items: Iterable[str], words: Iterable[str], but_not: Iterable[str] = ()) -> list[str]:
    """The items whose name holds one of the words whole (or its plural), and none of the others."""
    words, but_not = tuple(words), tuple(but_not)
    return [item for item in items if _whole_word(item, words) and not _whole_word(item, but_not)]


def _whole_word(text: str, words: Iterable[str]) -> bool:
    return _pattern(tuple(words), r"s?\b").search(text) is not None


@cache
def _pattern(words: tuple[str, ...], ending: str) -> re.Pattern[str]:
    """Any of some words where a word begins, without case; nothing where there are none."""
    any_of = "|".join(re.escape(word) for word in words) or "(?!)"
    return re.compile(rf"\b(?:{any_of}){ending}", re.IGNORECASE)


def _kept_long(facts: SpecFacts) -> bool:
    """Whether it is kept longer than food that is neither acid nor dry may be: 7 days cold, else hours."""
    if facts.kind == "drink" or facts.keeps_days is None or facts.storage == "freezer":
        return False
    if facts.storage == "ambient":
        return facts.kind != "garnish"
    return int(facts.keeps_days) + 1 > FOOD_CODE_DAYS


def _assessment(facts: SpecFacts) -> str | None:
    highest = max(facts.ph_measured, default=0.0)
    if not _kept_long(facts) or not ASSESSED_PH <= highest <= ACID_PH:
        return None
    return (
        f"Its pH was measured at up to {highest:.1f}. From {ASSESSED_PH} to {ACID_PH} acid alone does not settle it: "
        "unless it is heated and then sealed, or its water activity is 0.92 or less, whether it keeps without "
        "time and temperature control has to be assessed for this product."
    )


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


def _allergens(facts: SpecFacts) -> str | None:
    stated = [name.casefold() for name in facts.allergens]
    looks_like = [
        f"{item} ({allergen})"
        for allergen, (words, but_not, stems) in LOOKS_LIKE.items()
        if not any(_word(name, stems) for name in stated)
        for item in _named(facts.items, words, but_not)
    ]
    if not stated and not looks_like:
        return None
    said = [f"Contains {', '.join(facts.allergens)}, as the price list states."] if stated else []
    if looks_like:
        said.append(f"By its name there may be more, which the price list does not state: {', '.join(looks_like)}.")
    return f"{' '.join(said)} What is not stated is not known to be absent."


def _polyols(facts: SpecFacts) -> str | None:
    found = _named(facts.items, POLYOLS)
    if not found:
        return None
    unknown = [item for item in found if item not in facts.mass_shares]
    share = sum(facts.mass_shares.get(item, 0.0) for item in found)
    if share > POLYOL_SHARE:
        return (
            f"{100 * share:.1f} % polyols ({', '.join(found)}), above 10 %: where it is sold as food, "
            "'excessive consumption may produce laxative effects' must be stated."
        )
    if unknown or not facts.whole:
        return f"Holds polyols ({', '.join(found)}), and their share cannot be worked out: above 10 % a warning is due."
    return None


def _polyols_in_drinks(facts: SpecFacts) -> str | None:
    found = _named(facts.items, POLYOLS) if facts.kind == "drink" else []
    if not found:
        return None
    names = ", ".join(found)
    return (
        f"Holds polyols ({names}): the EU does not authorise them in beverages; a garnish beside one is confectionery."
    )


def _in_oil(facts: SpecFacts) -> str | None:
    oils = _named(facts.items, ["oil"], ["essential oil"]) if facts.kind != "drink" else []
    plants = _named(facts.items, LOW_ACID_IN_OIL, ["oil"])
    if not oils or not plants:
        return None
    return (
        f"{', '.join(plants)} in oil ({', '.join(oils)}): without air and acid botulism can grow in it unseen, and "
        "whether it keeps safely cannot be told from pH and water activity alone."
    )


def _hot_sugar(facts: SpecFacts) -> str | None:
    word = _word(facts.text, ["caramel", "sugar work", "hot sugar", "hard crack", "soft ball", "brittle", "molten"])
    word = word or _word(facts.text, ["boiled sugar", "spun sugar", "pulled sugar", "isomalt"])
    if word is None:
        return None
    return f"Hot sugar work ('{word}'): it sticks, and burns deeper than boiling water: gloves, sleeves, iced water."


def _smoke(facts: SpecFacts) -> str | None:
    if _word(facts.text, ["smoke", "smoking", "smoky"]) is None:
        return None
    return (
        "Smoke: use food-grade wood only, with air drawn off and the fire alarm's keeper told; "
        "carbon monoxide and polycyclic hydrocarbons harm, and guests with asthma should be told."
    )


def _raw_egg(facts: SpecFacts) -> str | None:
    eggs = [item for item in _named(facts.items, EGG) if not _word(item, ["pasteur", "cooked", "powder", "dried"])]
    if not eggs:
        return None
    return f"Raw egg ({', '.join(eggs)}): salmonella. Tell the guest; use pasteurised egg for anyone at risk."


def _dairy_clarified(facts: SpecFacts) -> str | None:
    text = f"{facts.text} {facts.parts_text}"
    dairy = _named(facts.items, MILK, NOT_MILK)
    if not dairy or _word(text, ["clarif", "milk punch", "milk-wash", "milk wash", "curdle"]) is None:
        return None
    return (
        f"Clarified with dairy ({', '.join(dairy)}): it still contains milk, whatever it looks like, and whether it "
        "keeps safely cannot be told from pH and water activity alone."
    )


def _flame(facts: SpecFacts) -> str | None:
    word = _word(facts.text, ["flame", "flaming", "flamb", "ignite", "blowtorch", "torch", "set alight", "on fire"])
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
    word = _word(text, ["dry ice", "liquid nitrogen", "nitro-muddle", "cryo"])
    if word is None:
        return None
    return (
        f"'{word}': burns skin and gut, and takes the air out of a closed room. "
        "Nothing of it may be left in the glass when it is served."
    )


def _botanicals(facts: SpecFacts) -> str | None:
    said = [f"{item}: {why}" for item in facts.items for part, why in RISKY.items() if _word(item, [part])]
    if _named([facts.text, *facts.items], FORAGED):
        said.append("foraged or wild, so have every plant named by someone who knows it, away from roads and spraying")
    return f"Take care: {'; '.join(dict.fromkeys(said))}." if said else None


@hookimpl
def register_cautions() -> list[Caution]:
    """The built-in set."""
    return [
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
        Caution(
            name="allergens",
            title="Allergens",
            source="Reg. (EU) 1169/2011 Annex II; US FALCPA 2004 and FASTER Act 2021 (from memory)",
            check=_allergens,
        ),
        Caution(
            name="polyols",
            title="Polyols",
            source="Reg. (EU) 1169/2011 Annex III 2.4 (read): more than 10 % added polyols",
            check=_polyols,
        ),
        Caution(
            name="polyols-in-drinks",
            title="Polyols in a drink",
            source="Reg. (EC) 1333/2008, as summarised in a note on Reg. (EU) 2021/1175 (second-hand)",
            check=_polyols_in_drinks,
        ),
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
            name="raw-egg",
            title="Raw egg",
            source="FDA Food Code 3-801.11 and 3-603.11, consumer advisory (from memory)",
            check=_raw_egg,
        ),
        Caution(
            name="dairy-clarified",
            title="Clarified with dairy",
            source="Reg. (EU) 1169/2011 Annex II 7; FDA Food Code 1-201.10, product assessment (from memory)",
            check=_dairy_clarified,
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
        Caution(
            name="botanicals",
            title="Foraged and risky botanicals",
            source="the rule named beside each; where none is named, from memory",
            check=_botanicals,
        ),
    ]
