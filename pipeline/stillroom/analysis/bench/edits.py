"""Changes to the lines of a spec: amounts set, scaled, added, taken out, one item put in another's place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Literal

from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.analysis.specs.request import written_amount
from stillroom.errors import UsageError
from stillroom.names import name_key
from stillroom_schemas.units import conversions

Kind = Literal["set", "scale", "swap", "drop", "add"]


@dataclass(frozen=True, kw_only=True)
class Edit:
    """One change, as it was asked for."""

    kind: Kind
    text: str
    """As written: 'lemon juice=25 ml', 'white sugar=90 %', 'cider vinegar=verjus', 'mint'."""


def edited(spec: SpecVersion, edits: Iterable[Edit]) -> tuple[Line, ...]:
    """The lines of a spec after some changes, in the order given.

    Raises:
        UsageError: a change names what is not in the spec, an amount that cannot be read, or a unit of another kind.
    """
    lines = list(spec.lines)
    for edit in edits:
        item, _, value = (part.strip() for part in edit.text.partition("="))
        if not item or (edit.kind != "drop" and not value):
            raise UsageError(f"--{edit.kind} '{edit.text}': write it like {_LIKE[edit.kind]}.")
        if edit.kind == "add":
            lines.append(_added(spec, lines, item, value))
            continue
        place = _place(spec, lines, edit, item)
        if edit.kind == "drop":
            del lines[place]
        else:
            lines[place] = _CHANGES[edit.kind](edit, lines[place], value)
    if not lines:
        raise UsageError(f"Nothing would be left of {spec.label}.")
    return tuple(lines)


_LIKE = {
    "set": "--set 'lemon juice=25 ml'",
    "scale": "--scale 'white sugar=90 %'",
    "swap": "--swap 'cider vinegar=verjus'",
    "drop": "--drop mint",
    "add": "--add 'citric acid=4 g'",
}


def line_of(item: str, amount: float, unit: str) -> Line:
    """A line in a unit of the unit table."""
    base, factor = conversions()[unit]
    return Line(item=item, amount=amount, unit=unit, base_amount=amount * factor, base=base)


def _place(spec: SpecVersion, lines: list[Line], edit: Edit, item: str) -> int:
    places = [place for place, line in enumerate(lines) if name_key(line.item) == name_key(item)]
    if not places:
        names = [line.item for line in lines]
        near = get_close_matches(item, names, n=1)
        hint = f" Did you mean '{near[0]}'?" if near else f" There are: {', '.join(names)}."
        raise UsageError(f"--{edit.kind} '{edit.text}': there is no '{item}' in {spec.label}.{hint}")
    if len(places) > 1:
        raise UsageError(f"--{edit.kind} '{edit.text}': {spec.label} has {len(places)} lines of '{item}'.")
    return places[0]


def _added(spec: SpecVersion, lines: list[Line], item: str, value: str) -> Line:
    if any(name_key(line.item) == name_key(item) for line in lines):
        raise UsageError(f"--add '{item}={value}': it is in {spec.label} already; change its amount with --set.")
    amount, unit = _amount("add", f"{item}={value}", value)
    return line_of(item, amount, unit)


def _set(edit: Edit, line: Line, value: str) -> Line:
    amount, unit = _amount("set", edit.text, value)
    new = line_of(line.item, amount, unit)
    if "each" in (line.base, new.base) and line.base != new.base:
        raise UsageError(
            f"--set '{edit.text}': {line.item} is in {line.unit}, and there is no way from that to {unit}."
        )
    return new


def _scaled(edit: Edit, line: Line, value: str) -> Line:
    factor = share(f"--scale '{edit.text}'", value)
    return replace(line, amount=line.amount * factor, base_amount=line.base_amount * factor)


def share(what: str, value: str) -> float:
    """A share above 0, such as '90 %' or '0.9'.

    Raises:
        UsageError: it is none; `what` says where it stands.
    """
    try:
        factor = float(value.removesuffix("%").strip().replace(",", ".")) / (100 if value.endswith("%") else 1)
    except ValueError:
        raise UsageError(f"{what}: '{value}' is no share; write it like '90 %'.") from None
    if not 0 < factor < float("inf"):
        raise UsageError(f"{what}: the share must be above 0.")
    return factor


def _swapped(edit: Edit, line: Line, value: str) -> Line:
    return replace(line, item=value)


_CHANGES = {"set": _set, "scale": _scaled, "swap": _swapped}


def _amount(kind: Kind, text: str, value: str) -> tuple[float, str]:
    """A number and a unit as written.

    Raises:
        UsageError: it is not an amount above 0 with a known unit.
    """
    try:
        return written_amount(value)
    except UsageError as error:
        raise UsageError(f"--{kind} '{text}': {error}") from None
