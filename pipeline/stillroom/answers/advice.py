"""Asks every caution about a spec; what is said always ends with whom to ask."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from typing import Final

from stillroom.errors import in_one_line
from stillroom.guarded import INSTANT, Failed, called
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
    """Every caution that applies, in the order given. One that fails or hangs says so itself: the others go on.

    Args:
        facts: the spec.
        cautions: all that plugins register.
    """
    asked, said = tuple(cautions), list[str | None]()
    while rest := asked[len(said) :]:
        now: list[str | None] = []
        try:
            called(partial(_ask, facts, rest, now), INSTANT)
        except Failed as failed:
            hanging = rest[len(now)]
            _HANGING[hanging.name] = _not_checked(failed)
            now = [*now, _HANGING[hanging.name]]
        said += now
    return tuple(
        Advice(name=caution.name, title=caution.title, text=f"{text} {DEFERRAL}", source=caution.source)
        for caution, text in zip(asked, said, strict=True)
        if text
    )


_HANGING: Final[dict[str, str]] = {}
"""Cautions that were given up: nobody waits for them again, spec by spec."""


def _ask(facts: SpecFacts, cautions: Iterable[Caution], said: list[str | None]) -> None:
    """Put what each caution says behind the others."""
    for caution in cautions:
        try:
            said.append(_HANGING.get(caution.name) or caution.check(facts))
        except (Exception, SystemExit) as error:  # a stranger's code: its fault is named, and the spec still shown
            said.append(_not_checked(error))


def _not_checked(error: BaseException) -> str:
    return f"This caution could not be checked, its plugin failed ({in_one_line(error)})."
