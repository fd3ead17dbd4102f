"""Which version of a spec is meant, and how many makings of it give what is asked for."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.contents import converted
from stillroom.errors import UsageError
from stillroom.names import name_key, nearest
from stillroom_schemas.units import KNOWN, SPELLINGS, conversions


def chosen_version(book: SpecBook, name: str, version: int | None) -> SpecVersion:
    """The version asked for; without one, the version in service on the book's day.

    Raises:
        UsageError: there is no such spec, or no such version of it.
    """
    known_name([versions[-1].spec for versions in book.versions.values()], name)
    if version is None:
        return book.in_service(name)
    found = book.find(name, version)
    if found is None:
        there = book.versions[name_key(name)]
        known = ", ".join(str(one.version) for one in there)
        raise UsageError(f"'{there[-1].spec}' has no version {version}; there are: {known}.")
    return found


def known_name(names: Sequence[str], name: str) -> str:
    """The name among those of a spec book that is meant; case does not count.

    Raises:
        UsageError: it is none of them.
    """
    found = next((one for one in names if name_key(one) == name_key(name)), None)
    if found is not None:
        return found
    meant = nearest(name, names)
    hint = f" Did you mean '{meant}'?" if meant else ""
    raise UsageError(f"There is no spec '{name}'.{hint}")


def factor_for_serves(spec: SpecVersion, serves: float) -> float:
    """How many makings of a drink give so many serves.

    Raises:
        UsageError: it is not a drink, or the number is not above 0.
    """
    if spec.kind != "drink":
        raise UsageError(f"{spec.label} is a {spec.kind}, not a drink: say how much to make, --make '650 ml'.")
    if not (math.isfinite(serves) and serves > 0):
        raise UsageError(f"--serves must be above 0, not {serves:g}.")
    return serves / spec.serves


def factor_for_amount(composition: Composition, spec: SpecVersion, amount: str) -> float:
    """How many makings give an amount such as '650 ml' or '1.5 kg'; of a drink, before chilling.

    Raises:
        UsageError: the amount cannot be read, or there is no way from the unit of the yield to its unit.
    """
    wanted, base = read_amount(amount)
    contents = composition.making(spec).contents
    gives = converted(spec.yield_amount, spec.yield_base, base, contents.density_g_ml)
    if gives is None and spec.kind == "drink":
        gives = {"ml": contents.volume_ml, "g": contents.mass_g}.get(base)
    if not gives:
        raise UsageError(
            f"{spec.label} makes {spec.yield_amount:g} {spec.yield_base}, and there is no way from that to {base}: "
            f"ask for it in {spec.yield_base}."
        )
    return wanted / gives


def read_amount(text: str) -> tuple[float, str]:
    """An amount with its unit, as ml, g or each.

    Raises:
        UsageError: it is not a number above 0 with a unit of the unit table, or a comma may part thousands.

    >>> read_amount("1.5 l"), read_amount("650ml")
    ((1500.0, 'ml'), (650.0, 'ml'))
    """
    amount, unit = written_amount(text)
    base, factor = conversions()[unit]
    return amount * factor, base


def written_amount(text: str) -> tuple[float, str]:
    """An amount and its unit as they are written.

    Raises:
        UsageError: as `read_amount`.

    >>> written_amount("2.5 cl")
    (2.5, 'cl')
    """
    match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?|[.,]\d+)\s*([a-z][a-z. ]*?)\s*", text.casefold())
    if match and re.fullmatch(r"[1-9]\d{0,2},\d{3}", match[1]):
        raise UsageError(f"'{text}' may be thousands or a fraction: write it without the comma, or with a point.")
    if match is None or float(match[1].replace(",", ".")) <= 0:
        raise UsageError(f"'{text}' is not an amount: write a number above 0 and a unit, like '650 ml'.")
    unit = match[2] if match[2] in KNOWN else match[2].removesuffix("s")
    if unit not in KNOWN:
        raise UsageError(f"'{match[2]}' is not a known unit; there are: {', '.join(SPELLINGS)}.")
    return float(match[1].replace(",", ".")), unit
