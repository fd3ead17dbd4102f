"""The kinds of column a table may have, as pandera fields.

Every helper returns a pandera `Field`. `default` is what an empty cell means; `unit` is for people.
"""

from __future__ import annotations

from typing import Any

from stillroom_schemas.polars_alone import pa
from stillroom_schemas.units import KNOWN, MAKING

LARGEST = 1_000_000_000
LARGEST_EXACT = 1_000_000_000_000
"""Well inside EXACT_DIGITS, so that any number that is accepted can be stored and summed."""


def _field(
    about: str,
    *,
    optional: bool,
    default: Any = None,
    exact: bool = False,
    identity: bool = False,
    made: str | None = None,
    unit_in: str | None = None,
    past: bool = False,
    **limits: Any,
) -> Any:
    metadata = {
        "default": default,
        "exact": exact,
        "identity": identity,
        "made": made,
        "unit_in": unit_in,
        "past": past,
    }
    nullable = optional and default is None
    return pa.Field(nullable=nullable, description=about, metadata=metadata, **limits)


def needed(column: Any) -> bool:
    """Whether a file must have a heading (or a constant) for a column of a pandera schema."""
    facts = column.metadata or {}
    return not (column.nullable or facts.get("default") is not None or facts.get("made") is not None)


def allowed(column: Any) -> list[str]:
    """The words that a column of a pandera schema may hold; empty where any may stand."""
    lists = [check.statistics["allowed_values"] for check in column.checks if check.name == "isin"]
    return [str(word) for words in lists for word in words]


def _within(largest: int, limits: dict[str, Any]) -> dict[str, Any]:
    """The bounds that `limits` leaves open."""
    bounds = {} if limits.keys() & {"ge", "gt"} else {"ge": -largest}
    return bounds if limits.keys() & {"le", "lt"} else {**bounds, "le": largest}


def text(
    about: str, *, optional: bool = False, default: str | None = None, made: str | None = None, **limits: Any
) -> Any:
    """A column of words; spaces at the ends are cut, those inside folded to one.

    `made`: what it is made of in a file that has no heading for it.
    """
    return _field(about, optional=optional, default=default, made=made, **limits)


def unit(about: str, *, optional: bool = False, makings: bool = False) -> Any:
    """A column of units; in a file without it, the unit stands in the amount's cell or in its heading.

    `makings`: an amount may be so many makings, which the host turns into an amount as it lands.
    """
    words = [*KNOWN, MAKING] if makings else list(KNOWN)
    return _field(about, optional=optional, made="the amount's cell or heading", isin=words)


def identity(about: str, *, optional: bool = False) -> Any:
    """A column of words of which nearly every row has one of its own, such as a receipt's number."""
    return _field(about, optional=optional, identity=True)


def number(
    about: str, *, optional: bool = False, default: float | None = None, unit_in: str | None = None, **limits: Any
) -> Any:
    """A finite number, by default within ±LARGEST.

    `unit_in`: the column of its unit, which may also stand in the number's own cell ('2.5 l') or its heading.
    """
    limits = {**_within(LARGEST, limits), **limits}
    return _field(about, optional=optional, default=default, unit_in=unit_in, **limits)


def exact(about: str, *, optional: bool = False, default: float | None = None, **limits: Any) -> Any:
    """A number kept to four decimals exactly: money, and counts that are summed over millions of rows."""
    limits = {**_within(LARGEST_EXACT, limits), **limits}
    return _field(about, optional=optional, default=default, exact=True, **limits)


def integer(
    about: str, *, optional: bool = False, default: int | None = None, made: str | None = None, **limits: Any
) -> Any:
    """A whole number.

    `made`: what it is made of in a file that has no heading for it.
    """
    return _field(about, optional=optional, default=default, made=made, **limits)


def day(about: str, *, optional: bool = False, past: bool = False) -> Any:
    """A calendar date.

    `past`: of what has happened; a day ahead of the intake, or far from the rest of its file, is doubtful.
    """
    return _field(about, optional=optional, past=past)


def moment(about: str, *, optional: bool = False, past: bool = False) -> Any:
    """A date with a time of day, in the house's time zone; `past` as of a day."""
    return _field(about, optional=optional, past=past)
