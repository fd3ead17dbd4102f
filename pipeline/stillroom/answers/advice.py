"""Asks every caution about a spec; what is said always ends with whom to ask."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from stillroom.errors import in_one_line
from stillroom.objects import Caution, SpecFacts

DEFERRAL: Final = "Follow your local code; ask a licensed professional."


@dataclass(frozen=True, kw_only=True)
class Advice:
    """A caution that applies to a spec."""

    name: str
    title: str
    text: str
    """What to be careful of, ending with `DEFERRAL`."""
    source: str


def advice_on(facts: SpecFacts, cautions: Iterable[Caution]) -> tuple[Advice, ...]:
    """Every caution that applies, in the order given. One that fails says so itself: the others go on.

    Args:
        facts: the spec.
        cautions: all that plugins register.
    """
    return tuple(advice for caution in cautions if (advice := _asked(facts, caution)))


def _asked(facts: SpecFacts, caution: Caution) -> Advice | None:
    try:
        said = caution.check(facts)
    except Exception as error:  # a stranger's code: its fault is named, and the spec still shown
        said = f"This caution could not be checked, its plugin failed ({in_one_line(error)})."
    if not said:
        return None
    return Advice(name=caution.name, title=caution.title, text=f"{said} {DEFERRAL}", source=caution.source)
