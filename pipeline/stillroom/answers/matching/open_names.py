"""Every till name that no drink explains, with its money, and the drinks that it may be, likeliest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median
from typing import TYPE_CHECKING, Final

from stillroom.names import name_key
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb

LIKELY: Final = 80.0  # of 100: below this a guess is more often wrong than right
WORTH_A_LOOK: Final = 50.0
SHOWN: Final = 8
SURE: Final = 95.0
LEAD: Final = 5.0  # by which the likeliest drink has to be ahead of the next to be taken without a look
CUT: Final = 6  # letters, from which the beginning of a name is likely one that the till cuts short
CUT_SHORT: Final = 97.0
SEVERAL: Final = 1.5  # times the price of a serve: from here it is no serve with something added
NEAR: Final = (0.6, 1.1)  # a jug of four costs so many times four serves: common practice, no source
NAMES: Final = """
    SELECT
        min(till_item) AS till_item, sum(lines)::BIGINT AS lines,
        sum(quantity) AS quantity, sum(net_amount) AS net_amount,
        min(first_day) AS first_day, max(last_day) AS last_day, list(DISTINCT venue ORDER BY venue) AS venues
    FROM unmatched_sales GROUP BY name_key(till_item) ORDER BY lines DESC, till_item
"""
DRINKS: Final = """
    SELECT own.spec, sold.each, said.price
    FROM spelling AS own
    LEFT JOIN (
        SELECT name_key(spec) AS name_key, CAST(arg_max(price, version) AS DOUBLE) AS price
        FROM current_spec WHERE price IS NOT NULL GROUP BY ALL
    ) AS said USING (name_key)
    LEFT JOIN (
        SELECT name_key(spec) AS name_key, sum(net_amount) / sum(serves) AS each
        FROM daily_serves GROUP BY ALL HAVING sum(serves) > 0
    ) AS sold USING (name_key)
    WHERE own.kind = 'drink' ORDER BY own.spec
"""
SAID: Final = "SELECT DISTINCT till_item, spec FROM current_till_match ORDER BY ALL"


@dataclass(frozen=True, kw_only=True)
class Drink:
    """What a drink costs."""

    spec: str
    each: float | None
    """Net of a serve, over all that was sold; None where none was."""
    price: float | None
    """On the menu."""
    share: float = 1.0
    """Of menu prices, what the house's drinks are sold for at the middle: without tax and discounts."""

    @property
    def serve(self) -> float | None:
        """What a serve brings in, or would."""
        return self.each if self.each is not None or self.price is None else self.price * self.share


@dataclass(frozen=True, kw_only=True)
class Guess:
    """What a till name may be."""

    spec: str | None
    """The drink; None: not one of ours."""
    likeness: float
    """Of the spellings, 0 to 100."""
    serves: float
    """In one: by its price beside that of a serve."""
    price: float | None
    """Of a serve, on the menu; else what one was sold for."""
    like: str | None
    """The till name, matched before, that it is like; None where it is like the drink's own name."""


@dataclass(frozen=True, kw_only=True)
class OpenName:
    """A till name that no drink explains."""

    till_item: str
    lines: int
    quantity: float
    net_amount: float
    first_day: date
    last_day: date
    venues: tuple[str | None, ...]
    guesses: tuple[Guess, ...]
    """Likeliest first; the first is worth asking about where it is `likely`."""

    @property
    def each(self) -> float | None:
        """What one was sold for, net."""
        return self.net_amount / self.quantity if self.quantity > 0 else None

    @property
    def likely(self) -> Guess | None:
        """The best guess, where it is likely at all."""
        best = self.guesses[0] if self.guesses else None
        return best if best and best.likeness >= LIKELY else None

    def is_sure(self, least: float = SURE) -> bool:
        """Whether its best guess may be taken together with others: near enough, ahead of the next, one serve."""
        best = self.likely
        if best is None or best.likeness < least or best.serves != 1:
            return False
        return len(self.guesses) < 2 or best.likeness - self.guesses[1].likeness >= LEAD


def open_names(con: duckdb.DuckDBPyConnection) -> list[OpenName]:
    """Every till name that no drink explains, most lines first."""
    rows = frames.fetch(con, NAMES).to_dicts()
    if not rows:
        return []
    found = drinks(con)
    said = {str(name): spec for name, spec in con.execute(SAID).fetchall()}
    return [
        OpenName(
            **{**row, "venues": tuple(row["venues"])},
            guesses=guesses(
                row["till_item"], row["net_amount"] / row["quantity"] if row["quantity"] > 0 else None, found, said
            ),
        )
        for row in rows
    ]


def drinks(con: duckdb.DuckDBPyConnection) -> list[Drink]:
    """Every drink of the spec book, with what a serve costs."""
    rows = con.execute(DRINKS).fetchall()
    shares = [each / price for _, each, price in rows if each and price]
    share = min(median(shares), 1.0) if shares else 1.0  # what is added to drinks raises no price
    return [Drink(spec=spec, each=each, price=price, share=share) for spec, each, price in rows]


def guesses(name: str, each: float | None, known: Sequence[Drink], said: Mapping[str, str | None]) -> tuple[Guess, ...]:
    """What a till name may be, likeliest first.

    Args:
        name: as the till spells it.
        each: what one was sold for, net.
        known: the drinks.
        said: till name -> the drink that a person matched it to (None: not one of ours): what was said teaches.
    """
    by_name = {drink.spec: drink for drink in known}
    best: dict[str | None, Guess] = {}
    for likeness, spelt, spec in _alike(name, [*((one, one) for one in by_name), *said.items()]):
        if spec in best or (spec is not None and spec not in by_name) or (spec is None and likeness < LIKELY):
            continue
        drink = by_name[spec] if spec is not None else None
        best[spec] = Guess(
            spec=spec,
            likeness=round(likeness, 1),
            serves=serves_in(name, each, drink) if drink else 1,
            price=(drink.price if drink.price is not None else drink.each) if drink else None,
            like=spelt if spelt != spec else None,
        )
    return tuple(best.values())[:SHOWN]


def taught(name: OpenName, known: Sequence[Drink], said: Mapping[str, str | None]) -> OpenName:
    """The name with what was just said of others: till name -> the drink, or None."""
    fresh = guesses(name.till_item, name.each, known, said)
    best: dict[str | None, Guess] = {}
    for guess in sorted((*fresh, *name.guesses), key=lambda one: -one.likeness):
        best.setdefault(guess.spec, guess)
    return replace(name, guesses=tuple(best.values())[:SHOWN])


def _alike(name: str, spellings: Iterable[tuple[str, str | None]]) -> list[tuple[float, str, str | None]]:
    """(likeness, spelling, drink), likeliest first; of two that are alike the drink's own name."""
    from rapidfuzz import fuzz

    wanted, whole = plain(name), [(plain(spelt), spelt, spec) for spelt, spec in spellings]
    may_be_cut = len(wanted) >= CUT and all(wanted != words for words, _, _ in whole)
    scored = [
        (CUT_SHORT if may_be_cut and words.startswith(wanted) else fuzz.WRatio(wanted, words), spelt, spec)
        for words, spelt, spec in whole
    ]
    return sorted((one for one in scored if one[0] >= WORTH_A_LOOK), key=lambda one: -one[0])


def plain(name: str) -> str:
    """A name as words to compare: its key without marks.

    >>> plain("Crème Brûlée-Flip!")
    'creme brulee flip'
    """
    return " ".join(re.findall(r"[^\W_]+", name_key(name)))


def serves_in(name: str, each: float | None, drink: Drink) -> float:
    """How many serves one of that price may be: what its name counts, if that fits the price; else by the price.

    >>> serves_in("Pitcher", 48.0, Drink(spec="Marsh Sour", each=None, price=13.5))
    4
    """
    if each is None or not drink.serve or each / drink.serve < SEVERAL:
        return 1
    times = each / drink.serve
    for count in map(int, re.findall(r"(?<!\d)\d{1,2}(?!\d)", name)):
        if NEAR[0] * count <= times <= NEAR[1] * count:
            return count
    return round(times)
