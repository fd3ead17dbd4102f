"""How often a till name's best guess is right: names of drinks as tills write them, on menus whose names are invented.

A menu has 20 drinks, each called by one of 30 adjectives and one of 30 nouns, so that many share a word, and 5 twins of
some of them, with one more word; 15 other things are sold that are none of ours. A till writes each drink in six ways;
one that is then the name of another drink is no open name. Guesses know the drinks alone: nothing has been taught yet.
`python -m benchmarks.matching` writes its table into docs/simulations.md.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from datetime import date
from typing import Final

from benchmarks.simulations import keep
from stillroom.answers.matching.open_names import Drink, OpenName, guesses

MENUS: Final = 200
DRINKS: Final = 20
OTHERS: Final = 15
TWINS: Final = 5
ADJECTIVES: Final = """
Quiet Old Marsh Amber Paper Salt Copper Lantern Harbour Winter Velvet Crooked Little Second Northern Blue Slow Bitter
Garden Silver Hollow Morning River Ninth Orchard Stone Broken Sunday Glass Wild
"""
NOUNS: Final = """
Tonnage Ballast Sour Fizz Mule Flip Buoy Anchor Collar Compass Almanac Spritz Smash Julep Cooler Signal Ferry Letter
Ledger Swizzle Punch Harvest Meadow Rickey Daisy Cobbler Orbit Parade Sling Toddy
"""
THINGS: Final = """
olives,bread,still water,sparkling water,espresso,lager 0.3,lager 0.5,stout,house white,house red,nuts,cheese plate,
tonic,cola,ginger beer,ale,cider,service,gift card,crisps,soup,lemonade,tea,filter coffee,wine by the glass
"""


def _slip(name: str, rng: random.Random) -> str:
    """Two letters beside one another, exchanged; or one lost."""
    place = rng.randrange(1, len(name) - 2)
    if rng.random() < 0.5:
        return name[:place] + name[place + 1] + name[place] + name[place + 2 :]
    return name[:place] + name[place + 1 :]


def _without_vowels(name: str) -> str:
    return " ".join(word[0] + "".join(c for c in word[1:] if c not in "aeiou") for word in name.split())


WAYS: Final[dict[str, Callable[[str, random.Random], str]]] = {
    "capitals and marks": lambda name, rng: f"{name.upper()}{rng.choice(('!', '.', ' *'))}",
    "a slip of the pen": lambda name, rng: _slip(name, rng).upper(),
    "cut at 12 letters": lambda name, rng: name[:12].upper(),
    "without vowels": lambda name, rng: _without_vowels(name).upper(),
    "its last word alone": lambda name, rng: name.split()[-1].upper(),
    "something behind it": lambda name, rng: f"{name} {rng.choice(('no ice', 'large', 'to go', 'staff'))}".upper(),
    "none of ours": lambda name, rng: name.upper(),
}


def simulated(menus: int, seed: int = 1) -> dict[str, Counter[str]]:
    """Way of writing -> how many names there were, how many had a likely guess or one that is taken unseen, and how
    many of these were right."""
    rng = random.Random(seed)
    found: dict[str, Counter[str]] = {way: Counter() for way in WAYS}
    for _ in range(menus):
        names = sorted({f"{rng.choice(ADJECTIVES.split())} {rng.choice(NOUNS.split())}" for _ in range(DRINKS)})
        names += [f"{name} {rng.choice(('Royale', 'Reserve', 'Two'))}" for name in rng.sample(names, TWINS)]
        known = [Drink(spec=name, each=10.0, price=12.0) for name in sorted(names)]
        sold = [(way, name) for name in known for way in list(WAYS)[:-1]]
        pairs = [(way, drink.spec, drink.spec) for way, drink in sold]
        pairs += [("none of ours", thing, None) for thing in rng.sample(THINGS.replace("\n", "").split(","), OTHERS)]
        for way, name, truth in pairs:
            spelt = WAYS[way](name, rng).strip()
            if spelt.casefold() not in {one.casefold() for one in names}:
                _count(found[way], spelt, truth, known)
    return found


def _count(count: Counter[str], spelt: str, truth: str | None, known: list[Drink]) -> None:
    day = date(2026, 3, 2)
    name = OpenName(
        till_item=spelt,
        lines=1,
        quantity=1,
        net_amount=10,
        first_day=day,
        last_day=day,
        venues=(None,),
        guesses=guesses(spelt, 10.0, known, {}),
    )
    right = name.likely is not None and name.likely.spec == truth
    count["names"] += 1
    count["likely"] += name.likely is not None
    count["likely and right"] += right
    count["taken"] += name.is_sure()
    count["taken and wrong"] += name.is_sure() and not right


def main() -> None:
    """Write the table."""
    lines = [
        "| as the till writes it | names | have a guess | of these right | taken unseen | of these wrong |",
        "|---|---:|---:|---:|---:|---:|",
    ]
    for way, n in simulated(MENUS).items():
        guessed, right = _share(n["likely"], n["names"]), _share(n["likely and right"], n["likely"])
        taken = _share(n["taken"], n["names"])
        lines.append(f"| {way} | {n['names']} | {guessed} | {right} | {taken} | {n['taken and wrong']} |")
    keep("till names", lines)


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "–"


if __name__ == "__main__":
    main()
