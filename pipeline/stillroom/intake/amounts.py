"""Amounts as people write them in one cell: '2,5 l', '6 x 330 ml', '1 1/2 oz', 'per kg'.

A small grammar, read by Lark's Earley parser. What can be read in two ways, or says no amount, is not read, and why not
is said.
"""

from __future__ import annotations

import math
import re
import tomllib
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from stillroom.intake.casting import FULL_WIDTH
from stillroom_schemas import units

if TYPE_CHECKING:
    from lark import Lark, Token

WORDS: Final = Path(__file__).with_name("amount_words.toml")
NARROW: Final = str.maketrans(FULL_WIDTH)
CURRENCY: Final = r"[A-Z]{0,3}[€$£¥]|[A-Z]{3}|S?Fr\.?|kr\.?|Kč|Ft|lei|zł|%|(?:[A-Z]{3}|[€$£]|kr|zł|Kč)\s*/\s*\S+"
NUMBER: Final = r"\d{1,3}(?:[ '’]\d{3})+(?:[.,]\d+)?(?!\d)|\d+(?:[.,]\d+)*|[.,]\d+"
GRAMMAR: Final = r"""
start: ABOUT? (single | sum | packs | span | many | per | alone | half | share | dozens)
single: pack? number unit? | number unit pack
sum: (single | many) (PLUS (single | many))+
packs: number? CONTAINER | DOSE
span: number TO number unit?
many: number pack? TIMES number unit pack? | number pack TO? number unit
per: PER unit
alone: unit
half: HALF unit
dozens: (number | HALF | ONE)? DOZEN
share: (number OFTEN? | ONE | HALF | DOUBLE)? BATCH | (number | ONE | HALF | DOUBLE) DOSE
pack: CONTAINER | DOSE
number: NUMBER -> plain | FRACTION -> plain | NUMBER FRACTION -> mixed
unit: UNIT
%ignore /[\s()=]+/
"""


@dataclass(frozen=True, kw_only=True)
class Amount:
    """How much a cell says."""

    value: float
    unit: str | None
    """One of `units.SPELLINGS`, or `units.MAKING`; None where the cell names none."""


@dataclass(frozen=True, kw_only=True)
class Unread:
    """Why a cell is no amount, as words after its column's name."""

    problem: str


@lru_cache(maxsize=10_000)
def read(text: str, decimal: str | None = None) -> Amount | Unread:
    """The amount that a tidy cell says.

    `decimal`: what parts decimals; None: a dot, or a comma where it cannot part thousands.

    >>> read("6 × 330 ml"), read("1 ½ oz").value, read("0,7 l").value, read("per kg")
    (Amount(value=1980.0, unit='ml'), 1.5, 0.7, Amount(value=1.0, unit='kg'))
    >>> read("half a dozen"), read("2 doz").value
    (Amount(value=6.0, unit='each'), 24.0)
    >>> read("2–3 dashes").problem
    'is a range: write one amount'
    """
    from lark.exceptions import UnexpectedInput

    plain = _plain(text)
    try:
        return cast("Amount | Unread", _reader(decimal).transform(_parser().parse(plain)))
    except UnexpectedInput:
        return Unread(problem=_why(plain))


def numbers_in(text: str) -> list[str]:
    """The numbers in a cell, as they are written.

    >>> numbers_in("6 x 0,7 l")
    ['6', '0,7']
    """
    return re.findall(NUMBER, text)


def _why(plain: str) -> str:
    words = re.findall(r"[^\W\d_]+", plain)
    if not re.search(r"\d", plain):
        return "cannot be read as a number (write 1234.5)"
    strange = [word for word in words if word not in _vocabulary()]
    if strange:
        return f"holds '{strange[0]}', which is no unit that is known (such as ml, g or each)"
    return "cannot be read as an amount (write a number and a unit, such as 20 ml)"


def _plain(text: str) -> str:
    """Small letters, fractions spelt out, one kind of dash and of sign for 'times'."""
    spelt = []
    for letter in text:
        parts = unicodedata.normalize("NFKD", letter)
        is_fraction = "\u2044" in parts
        spelt.append(" " + parts.replace("\u2044", "/") + " " if is_fraction else letter)
    plain = re.sub("[\u2010-\u2015\u2212]", "-", "".join(spelt).translate(NARROW)).replace("\u2044", "/").casefold()
    return " ".join(plain.replace("×", "x").split())


@cache
def _lists() -> dict[str, list[str]]:
    return {name: [w.casefold() for w in words] for name, words in tomllib.loads(WORDS.read_text("utf-8")).items()}


@cache
def _vocabulary() -> frozenset[str]:
    known = [*units.words(), *(word for several in _lists().values() for word in several)]
    return frozenset(part for word in known for part in re.findall(r"[^\W\d_]+", word.casefold()))


@cache
def _parser() -> Lark:
    from lark import Lark

    def terminal(name: str, priority: int, words: list[str]) -> str:
        longest = sorted({word.casefold() for word in words}, key=len, reverse=True)
        several = "|".join(
            r"[.\s]*".join(map(re.escape, re.split(r"[.\s]+", word)))
            + (r"(?![^\W\d_])\.?" if word[-1].isalpha() else "")
            for word in longest
        )
        return f"{name}.{priority}: /(?:{several})/"

    lists = _lists()
    times = "|".join(map(re.escape, lists["times"]))
    return Lark(
        "\n".join(
            [
                GRAMMAR,
                f"FRACTION.3: /\\d+\\s*\\/\\s*\\d+/\nNUMBER.2: /{NUMBER}/",
                f"TIMES.4: /(?:{times})(?=\\s*[\\d.,])/",
                f"OFTEN.4: /(?:{times})(?=\\s*[^\\W\\d_])/",
                terminal("TO", 3, lists["to"]),
                terminal("PLUS", 3, ["+"]),
                terminal("UNIT", 2, list(units.words())),
                terminal("PER", 3, lists["per"]) + " | /\\//",
                terminal("ABOUT", 3, lists["about"]),
                terminal("HALF", 3, lists["half"]),
                terminal("ONE", 3, lists["one"]),
                terminal("DOUBLE", 3, lists["double"]),
                terminal("BATCH", 3, lists["batch"]),
                terminal("DOSE", 4, lists["dose"]),
                terminal("DOZEN", 3, lists["dozen"]),
                terminal("CONTAINER", 3, lists["container"]),
            ]
        ),
        parser="earley",
        lexer="basic",
    )


@cache
def _reader(decimal: str | None) -> Any:
    from lark import Transformer
    from lark.visitors import v_args

    @v_args(inline=True)
    class Reader(Transformer):  # type: ignore[type-arg]
        """The parts of an amount -> the amount."""

        def start(self, *parts: Any) -> Amount | Unread:
            said: Amount | Unread = parts[-1]
            return said

        def single(self, *parts: Any) -> Amount | Unread:
            return _amount(*(part for part in parts if not _is_word(part)))

        def sum(self, *parts: Any) -> Amount | Unread:
            return _sum([part for part in parts if not _is_word(part)])

        def packs(self, *_: Any) -> Unread:
            return Unread(problem="names a pack: write what it holds")

        def span(self, *_: Any) -> Unread:
            return Unread(problem="is a range: write one amount")

        def many(self, *parts: Any) -> Amount | Unread:
            one, other, unit = (part for part in parts if not _is_word(part))
            return _amount(round(one * other, 9), unit)

        def per(self, _: Token, unit: str) -> Amount:
            return Amount(value=1.0, unit=unit)

        def alone(self, unit: str) -> Amount:
            return Amount(value=1.0, unit=unit)

        def half(self, _: Token, unit: str) -> Amount:
            return Amount(value=0.5, unit=unit)

        def dozens(self, *parts: Any) -> Amount | Unread:
            first = parts[0]
            many = (0.5 if first.type == "HALF" else 1.0) if _is_word(first) else first
            return _amount(12 * many, "each")

        def share(self, *parts: Any) -> Amount | Unread:
            words = {"HALF": 0.5, "DOUBLE": 2.0}
            said = [words.get(part.type) if _is_word(part) else part for part in parts]
            return _amount(next((one for one in said if one is not None), 1.0), units.MAKING)

        def pack(self, word: Token) -> Token:
            return word

        def plain(self, number: Token) -> float:
            return _number(str(number), decimal)

        def mixed(self, whole: Token, part: Token) -> float:
            return _number(str(whole), decimal) + _number(str(part), decimal)

        def unit(self, unit: Token) -> str:
            return _spelt()[_bare(unit)]

    return Reader()


def _amount(value: float, unit: str | None = None) -> Amount | Unread:
    if math.isnan(value):
        return Unread(problem="may part thousands or decimals (decimal of its source says which)")
    return Amount(value=value, unit=unit)


def _sum(several: list[Amount | Unread]) -> Amount | Unread:
    """'2 l + 500 ml' in the unit of the first; without its unit, nothing tells what the second is."""
    known = units.conversions()
    amounts = [one for one in several if isinstance(one, Amount)]
    if len(amounts) < len(several):
        return next(one for one in several if isinstance(one, Unread))
    bases = {known[one.unit][0] if one.unit in known else None for one in amounts}
    first = amounts[0].unit
    if len(bases) > 1 or first not in known:
        return Unread(problem="adds what has no unit, or units of different kinds: write one amount")
    return _amount(round(sum(one.value * known[str(one.unit)][1] for one in amounts) / known[first][1], 9), first)


def _is_word(part: object) -> bool:
    from lark import Token

    return isinstance(part, Token)


def unit_of(word: str) -> str | None:
    """The unit of `units.SPELLINGS` that a word stands for; None where it is no unit.

    >>> unit_of("Stück"), unit_of("Liters"), unit_of("gin")
    ('each', 'l', None)
    """
    return _spelt().get(_bare(word.casefold()))


def is_making(word: str) -> bool:
    """Whether a word in a column of units means makings.

    >>> is_making("Ansätze"), is_making("ml")
    (True, False)
    """
    return word.casefold() in _lists()["batch"]


def _bare(word: str) -> str:
    """A word without full stops: 'c. à s.' is 'c à s'."""
    return " ".join(re.split(r"[.\s]+", word.strip(". ")))


def unit_in_heading(heading: str) -> str | None:
    """The unit that a heading names.

    >>> [unit_in_heading(one) for one in ("Menge (ml)", "Amount, cl", "Prix €/kg", "Menge ml", "Item")]
    ['ml', 'cl', 'kg', 'ml', None]
    """
    inside = re.findall(r"[\(\[]([^)\]]+)[)\]]", heading)
    behind = re.split(r"[/,]|\b(?:in|en|per|pro|je|par|por|al)\b", heading)
    last = heading.split()[-1:]
    found = [unit for piece in (*inside, *behind[1:], *last) if (unit := unit_of(piece.strip(" ()[]")))]
    return found[0] if found and set(found) == {found[0]} else None


def unit_inside(heading: str) -> str | None:
    """The unit in brackets at the end of a heading.

    >>> unit_inside("Gin (ml)"), unit_inside("Gin")
    ('ml', None)
    """
    inside = re.search(r"[\(\[]([^)\]]+)[)\]]$", heading)
    return unit_of(inside[1]) if inside else None


def without_unit(heading: str) -> str:
    """A heading without the unit or currency it names.

    >>> [without_unit(one) for one in ("Menge (ml)", "Prix €/kg", "Preis in EUR", "Price per l", "Shelf life (days)")]
    ['Menge', 'Prix', 'Preis', 'Price', 'Shelf life (days)']
    """
    text = re.sub(r"[\(\[]([^)\]]+)[)\]]", lambda found: " " if is_unit_or_currency(found[1]) else found[0], heading)
    text = re.sub(r"\s*/\s*\S+$", "", text)
    words = text.split()
    while len(words) > 1 and (
        is_unit_or_currency(words[-1]) or words[-1].casefold() in ("in", "en", "per", "pro", "je", "par")
    ):
        words.pop()
    return " ".join(words).strip(" ,:;")


def is_unit_or_currency(text: str) -> bool:
    """Whether a text is a unit, a currency or a percentage sign, and no more."""
    return unit_of(text) is not None or re.fullmatch(CURRENCY, text.strip()) is not None


@cache
def _spelt() -> dict[str, str]:
    return {_bare(word): units.ALSO.get(unit, unit) for word, unit in units.words().items()}


def _number(text: str, decimal: str | None) -> float:
    """A number; not a number (NaN) where its mark may part thousands or decimals."""
    if "/" in text:
        above, below = (int(part) for part in text.split("/"))
        return float(Fraction(above, below)) if below else float("nan")
    text = re.sub(r"[ '’]", "", text)
    marks = re.findall("[.,]", text)
    if not marks:
        return float(text)
    groups = re.fullmatch(r"[1-9]\d{0,2}(?:([.,])\d{3})(?:\1\d{3})*", text)
    if decimal is None and len(set(marks)) > 1:  # the last one parts decimals
        decimal = marks[-1]
    if decimal is None:
        if len(marks) > 1 or (groups and marks[0] == ","):
            return float("nan")
        return float(text.replace(",", "."))
    other = "," if decimal == "." else "."
    whole, _, rest = text.partition(decimal)
    if marks == [other] and not groups:  # which can part no thousands
        return float(text.replace(other, "."))
    if other in rest or decimal in rest:
        return float("nan")
    if other in whole and not re.fullmatch(rf"[1-9]\d{{0,2}}(?:{re.escape(other)}\d{{3}})+", whole):
        return float("nan")
    return float(f"{whole.replace(other, '')}.{rest or '0'}")
