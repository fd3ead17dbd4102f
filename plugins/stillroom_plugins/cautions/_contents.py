"""Cautions on what is in a drink or a preparation."""

from __future__ import annotations

from typing import Final

from stillroom.objects import Caution, SpecFacts
from stillroom_plugins.cautions._names import EGG, FORAGED, LOOKS_LIKE, MILK, NOT_MILK, POLYOLS, RISKY
from stillroom_plugins.cautions._wording import named, word_in

POLYOL_SHARE: Final = 0.10 + 1e-9
"""More than 10 %: a sum of shares that is 10 % may come out a rounding above it."""


def _allergens(facts: SpecFacts) -> str | None:
    stated = [name.casefold() for name in facts.allergens]
    looks_like = [
        f"{item} ({allergen})"
        for allergen, (words, but_not, stems) in LOOKS_LIKE.items()
        if not any(word_in(name, stems) for name in stated)
        for item in named(facts.items, words, but_not)
    ]
    if not stated and not looks_like:
        return None
    said = [f"Contains {', '.join(facts.allergens)}, as the price list states."] if stated else []
    if looks_like:
        said.append(f"By its name there may be more, which the price list does not state: {', '.join(looks_like)}.")
    return f"{' '.join(said)} What is not stated is not known to be absent."


def _polyols(facts: SpecFacts) -> str | None:
    found = named(facts.items, POLYOLS)
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
    found = named(facts.items, POLYOLS) if facts.kind == "drink" else []
    if not found:
        return None
    names = ", ".join(found)
    return (
        f"Holds polyols ({names}): the EU does not authorise them in beverages; a garnish beside one is confectionery."
    )


def _raw_egg(facts: SpecFacts) -> str | None:
    eggs = [item for item in named(facts.items, EGG) if not word_in(item, ["pasteur", "cooked", "powder", "dried"])]
    if not eggs:
        return None
    return f"Raw egg ({', '.join(eggs)}): salmonella. Tell the guest; use pasteurised egg for anyone at risk."


def _dairy_clarified(facts: SpecFacts) -> str | None:
    text = f"{facts.text} {facts.parts_text}"
    dairy = named(facts.items, MILK, NOT_MILK)
    if not dairy or word_in(text, ["clarif", "milk punch", "milk-wash", "milk wash", "curdle"]) is None:
        return None
    return (
        f"Clarified with dairy ({', '.join(dairy)}): it still contains milk, whatever it looks like, and whether it "
        "keeps safely cannot be told from pH and water activity alone."
    )


def _botanicals(facts: SpecFacts) -> str | None:
    said = [f"{item}: {why}" for item in facts.items for part, why in RISKY.items() if word_in(item, [part])]
    if named([facts.text, *facts.items], FORAGED):
        said.append("foraged or wild, so have every plant named by someone who knows it, away from roads and spraying")
    return f"Take care: {'; '.join(dict.fromkeys(said))}." if said else None


CAUTIONS: Final = (
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
        name="botanicals",
        title="Foraged and risky botanicals",
        source="the rule named beside each; where none is named, from memory",
        check=_botanicals,
    ),
)
"""What some people must not have, and what nobody should have much of."""
