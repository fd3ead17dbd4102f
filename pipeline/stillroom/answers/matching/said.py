"""What a person says of a till name, at a prompt or in a file of answers, as a row of the match file."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from stillroom.answers.matching.open_names import OpenName, plain
from stillroom.errors import UsageError
from stillroom.names import name_key

YES: Final = ("y", "yes")
NOT_OURS: Final = ("n", "no", "not ours", "not one of ours", "")
LATER: Final = ("l", "later", "?")
SERVES: Final = r"\d{1,4}(?:[.,]\d{1,2})?"
IN_FRONT: Final = re.compile(rf"({SERVES})\s*[x×*]?\s+(\S.*)")
BEHIND: Final = re.compile(rf"(.*\S)\s*[x×*]\s*({SERVES})")


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A till name and what it is."""

    till_item: str
    spec: str | None
    """The drink; None: not one of ours."""
    serves: float = 1


def read(said: str, name: OpenName, drinks: Sequence[str]) -> Answer | None:
    """What was said of a name; None: later.

    'yes' takes the best guess, a number takes it with so many serves; else a drink's name, with 'x 4' behind it where
    one is several serves; 'not ours', or 'later'.

    Raises:
        UsageError: it is no answer; the sentence says what would be.
    """
    said = " ".join(said.split())
    word = said.casefold()
    if word in LATER:
        return None
    if word in NOT_OURS:
        return Answer(till_item=name.till_item, spec=None)
    if word in YES or re.fullmatch(SERVES, word):
        return _guessed(said, name)
    if spec := _named(said, drinks):  # before numbers are read off: a drink may have one in its name
        return Answer(till_item=name.till_item, spec=spec, serves=_serves_of(spec, name))
    for pattern, drink, serves in ((IN_FRONT, 2, 1), (BEHIND, 1, 2)):
        if (found := pattern.fullmatch(said)) and (named := _named(found[drink], drinks)):
            return Answer(till_item=name.till_item, spec=named, serves=_number(found[serves], name))
    raise UsageError(f"'{name.till_item}': there is no drink '{said}'{_perhaps(said, drinks)}.")


def _guessed(said: str, name: OpenName) -> Answer:
    guess = name.likely
    if guess is None:
        raise UsageError(f"'{name.till_item}': nothing is likely enough for '{said}'; name the drink.")
    serves = guess.serves if said.casefold() in YES else _number(said, name)
    return Answer(till_item=name.till_item, spec=guess.spec, serves=serves)


def _number(text: str, name: OpenName) -> float:
    serves = float(text.replace(",", "."))
    if not 0 < serves <= 10_000:
        raise UsageError(f"'{name.till_item}': {text} serves cannot be; write a number above 0.")
    return serves


def _serves_of(spec: str, name: OpenName) -> float:
    """One, unless the price says more: what is not said of a jug is not said to be one serve."""
    serves = next((guess.serves for guess in name.guesses if guess.spec == spec), 1.0)
    if serves != 1:
        raise UsageError(
            f"'{name.till_item}': one costs about as much as {serves:g} serves of {spec}; "
            f"write '{spec} x {serves:g}' or '{spec} x 1'."
        )
    return serves


def _named(said: str, drinks: Sequence[str]) -> str | None:
    return next((spec for spec in drinks if plain(spec) == plain(said)), None)


def _perhaps(said: str, drinks: Sequence[str]) -> str:
    from rapidfuzz import process

    near = process.extractOne(said, drinks, processor=plain, score_cutoff=60)
    return f"; did you mean '{near[0]}'?" if near else ""


def answer_key(name: str) -> str:
    """What a till name, and the key of an answer about it, are compared by."""
    return name_key(" ".join(name.split()))


def read_all(
    answers: Mapping[str, str], names: Sequence[OpenName], drinks: Sequence[str]
) -> tuple[list[Answer], list[str]]:
    """What answers say of the names that are open, and the keys of those that are about none of them."""
    by_key = {answer_key(name.till_item): name for name in names}
    decided, idle = [], []
    for key, said in answers.items():
        name = by_key.get(answer_key(key))
        if name is None:
            idle.append(key)
        elif (one := read(said, name, drinks)) is not None:
            decided.append(one)
    return decided, idle
