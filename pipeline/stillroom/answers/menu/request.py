"""A what-if as it is asked for in words, read and held against the spec book."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.contents import converted
from stillroom.analysis.specs.request import chosen_version, read_amount
from stillroom.errors import UsageError
from stillroom.names import name_key, nearest
from stillroom.objects import MenuChange


def read_change(
    *,
    drop: Sequence[str] = (),
    add: Sequence[str] = (),
    prices: Sequence[str] = (),
    keeps: Sequence[str] = (),
    makings: Sequence[str] = (),
) -> MenuChange:
    """The what-if that options say: names, and 'NAME=value' for the last three.

    Raises:
        UsageError: a value cannot be read, or a name is given twice.

    >>> read_change(drop=["Old Ballast"], prices=["Ninth Buoy=15"], keeps=["fig syrup=1 week"]).keeps
    {'fig syrup': 7.0}
    """
    return MenuChange(
        drop=_once("--drop", drop),
        add=_once("--add", add),
        prices={name: _price(name, text) for name, text in _pairs("--price", prices, "Harbour Dues=15")},
        keeps={name: _days(name, text) for name, text in _pairs("--keep", keeps, "fig syrup=7 days")},
        makings=dict(_pairs("--making", makings, "fig syrup=1.5 l")),
    )


def read_what_if(text: str) -> MenuChange:
    """The what-if that one text says: 'drop Old Ballast; add Long Fig; price Harbour Dues=15; keep fig syrup=7 days'.

    Raises:
        UsageError: a part of it cannot be read.

    >>> read_what_if("drop Old Ballast; price Ninth Buoy=15").label
    'without Old Ballast, Ninth Buoy at 15'
    """
    asked: dict[str, list[str]] = {kind: [] for kind in ("drop", "add", "price", "keep", "making")}
    for part in (part.strip() for part in text.split(";")):
        kind, _, value = part.partition(" ")
        if kind not in asked or not value.strip():
            raise UsageError(f"--what-if '{text}': write it like 'drop Old Ballast; price Harbour Dues=15'.")
        asked[kind].append(value.strip())
    return read_change(
        drop=asked["drop"], add=asked["add"], prices=asked["price"], keeps=asked["keep"], makings=asked["making"]
    )


def _once(option: str, names: Iterable[str]) -> tuple[str, ...]:
    found: dict[str, str] = {}
    for name in (" ".join(one.split()) for one in names):
        if name_key(name) in found or not name:
            raise UsageError(f"{option} '{name}' is given twice." if name else f"{option} needs a name.")
        found[name_key(name)] = name
    return tuple(found.values())


def _pairs(option: str, texts: Iterable[str], like: str) -> list[tuple[str, str]]:
    pairs = [[part.strip() for part in text.rpartition("=")] for text in texts]
    for text, (name, _, value) in zip(texts, pairs, strict=True):
        if not name or not value:
            raise UsageError(f"{option} '{text}': write it like {option} '{like}'.")
    _once(option, [name for name, _, _ in pairs])
    return [(name, value) for name, _, value in pairs]


def _price(name: str, text: str) -> float:
    if re.fullmatch(r"\d+([.,]\d{1,2})?", text) is None or float(text.replace(",", ".")) <= 0:
        raise UsageError(f"--price '{name}={text}': a price is a number above 0, like 15 or 14.50, without a currency.")
    return float(text.replace(",", "."))


def _days(name: str, text: str) -> float:
    match = re.fullmatch(r"(\d+)\s*(d|days?|w|weeks?)?", text.casefold())
    if match is None or int(match[1]) < 1:
        raise UsageError(f"--keep '{name}={text}': write whole days, like '{name}=7 days'.")
    return float(match[1]) * (7 if (match[2] or "").startswith("w") else 1)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A what-if held against the book and today's menu."""

    drop: tuple[str, ...]
    """Drinks as the menu spells them."""
    add: tuple[SpecVersion, ...]
    prices: dict[str, float]
    """Drink as the menu or the book spells it -> price."""
    keeps: dict[str, int]
    """Key of a preparation -> days it is good, the day it is made included."""
    makings: dict[str, float]
    """Key of a preparation -> what is made at a time, in its unit."""


def asked(change: MenuChange, book: SpecBook, menu: Sequence[str]) -> Asked:
    """The what-if in the book's terms.

    Args:
        menu: drinks on today's menu.

    Raises:
        UsageError: it names what is not there, puts on what is on, or leaves no drink.
    """
    drop = tuple(on_menu("--drop", name, menu) for name in change.drop)
    add = tuple(_to_add(name, book, menu) for name in change.add)
    if set(drop) >= set(menu) and not add:
        raise UsageError("Nothing would be left on the menu: keep or add at least one drink.")
    there = [*(name for name in menu if name not in drop), *(spec.spec for spec in add)]
    return Asked(
        drop=drop,
        add=add,
        prices={on_menu("--price", name, there): price for name, price in change.prices.items()},
        keeps={name_key(_made("--keep", name, book).spec): int(days) + 1 for name, days in change.keeps.items()},
        makings=dict(_size(name, text, book) for name, text in change.makings.items()),
    )


def on_menu(option: str, name: str, menu: Sequence[str]) -> str:
    """The drink of that name, as the menu spells it.

    Raises:
        UsageError: it is not on the menu.
    """
    found = next((one for one in menu if name_key(one) == name_key(name)), None)
    if found is None:
        meant = nearest(name, menu)
        hint = f" Did you mean '{meant}'?" if meant else f" There are: {', '.join(menu)}."
        raise UsageError(f"{option} '{name}': there is no such drink on the menu, or it sells nothing.{hint}")
    return found


def _to_add(name: str, book: SpecBook, menu: Sequence[str]) -> SpecVersion:
    spec = chosen_version(book, name, None)
    if spec.kind != "drink":
        raise UsageError(f"--add '{name}': {spec.spec} is a {spec.kind}, not a drink.")
    if any(name_key(one) == name_key(spec.spec) for one in menu):
        raise UsageError(f"--add '{name}': {spec.spec} is on the menu already.")
    return spec


def _made(option: str, name: str, book: SpecBook) -> SpecVersion:
    spec = chosen_version(book, name, None)
    if spec.kind == "drink":
        raise UsageError(f"{option} '{name}': {spec.spec} is a drink; it takes a preparation or garnish.")
    return spec


def _size(name: str, text: str, book: SpecBook) -> tuple[str, float]:
    spec = _made("--making", name, book)
    amount, unit = read_amount(text)
    size = converted(amount, unit, spec.yield_base, None)
    if size is None:
        raise UsageError(f"--making '{name}={text}': {spec.spec} is made in {spec.yield_base}; say it in that.")
    return name_key(spec.spec), size


def check_day(day: date | None) -> date:
    """The last day in the files.

    Raises:
        UsageError: there are no sales to forecast from.
    """
    if day is None:
        raise UsageError("There are no sales to forecast from: take in a till export first.")
    return day
