"""The command that asks what till names stand for: match."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from stillroom.cli import asking
from stillroom.cli.asking import AnswerOption, AnswersOption
from stillroom.cli.common import HouseOption, JsonOption, counted, open_house
from stillroom.cli.speaking import say, show, write_json
from stillroom.errors import UsageError

if TYPE_CHECKING:
    from stillroom.answers.matching.modifiers import Modifiers
    from stillroom.answers.matching.open_names import Guess, OpenName
    from stillroom.answers.matching.said import Answer
    from stillroom.api import OpenHouse

STOP = ("s", "stop")


def match(
    house: HouseOption = Path(),
    answer: AnswerOption = None,
    answers: AnswersOption = None,
    accept: Annotated[
        float | None, typer.Option("--accept", help="Take every best guess from this likeness on, %.", min=50, max=100)
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Ask what each till name stands for that no drink explains; what is said goes into the match file, and counts.

    On a terminal it asks, one name after the other. Elsewhere answers come from --answer 'NAME=DRINK', a file of such
    lines, or --accept; names without one are written into the match file as '?', unless it has headings of your own.
    An answer is a drink, with 'x 4' behind it where one is four serves; 'yes' for the best guess; 'not ours'; or
    'later'. A guess counts for nothing.
    """
    place = open_house(house)
    said = asking.answers_of(answers, answer or [])
    if asking.on_a_terminal() and not (as_json or said or accept):
        talk(place)
        return
    names = place.unmatched()
    decided = _decided(place, names, {key: str(value) for key, value in said.items()}, accept)
    left = [name for name in names if name.till_item not in {one.till_item for one in decided}]
    into = place.match(decided)[0] if decided else None
    path, written = place.write_open_names(left) if left else (into, [])
    if as_json:
        rest = {one.till_item: one for one in left}
        write_json({"file": path, "decided": [asdict(one) for one in decided], "written": written or [],
                    "open": [_values(one) for one in rest.values()]})  # fmt: skip
        return
    if not names:
        say(_nothing_open(place))
        return
    for one in decided:
        say(_told(one))
    if into:
        show(f"Written into {into}, and taken in.")
    for name in left:
        guess = f": perhaps {_perhaps(name.likely)}" if name.likely else ""
        say(f"{name.till_item} ({counted(name.lines, 'line')}){guess}")
    if written:
        show(f"Wrote {counted(len(written), 'name')} into {path}.")
    if left and written is None:
        say("They count in no drink until you say: answer on a terminal, or by --answer 'NAME=DRINK';")
        show(f"or write them into {path}, as it is kept, and run 'stillroom intake {path}'.")
    elif left:
        say("'?' must become a drink's name, or empty for 'not one of ours'; until then they count in no drink.")
        show(f"Then run 'stillroom intake {path}'; or answer 'stillroom match' on a terminal.")


def _nothing_open(place: OpenHouse) -> str:
    if place.sql("SELECT 1 FROM current_sale LIMIT 1").is_empty():
        return "There are no sales to match yet."
    return "Every till name has its match."


def _values(name: OpenName) -> dict[str, Any]:
    likely = name.likely
    return {**asdict(name), "each": name.each, "suggestion": likely.spec if likely else None}


def _decided(place: OpenHouse, names: list[OpenName], said: dict[str, str], accept: float | None) -> list[Answer]:
    """What the answers say, and where they say nothing the guesses that are to be taken."""
    from stillroom.answers.matching.said import answer_key, read, read_all

    drinks = [drink.spec for drink in place.drinks()]
    decided, idle = read_all(said, names, drinks)
    if idle:
        say(f"No open till name: {', '.join(idle)}.", err=True)
    keys = {answer_key(key) for key in said}
    sure = [n for n in names if accept is not None and answer_key(n.till_item) not in keys and n.is_sure(accept)]
    return [*decided, *(one for name in sure if (one := read("yes", name, drinks)))]


# The conversation --------------------------------------------------------------------------------------


def talk(place: OpenHouse) -> None:
    """Ask about every open name, keep what is said, and tell what is left."""
    names = place.unmatched()
    if not names:
        say(_nothing_open(place))
        return
    lines, net = sum(name.lines for name in names), sum(name.net_amount for name in names)
    say(
        f"{counted(len(names), 'till name')} that no drink explains: {counted(lines, 'line')}, {net:,.2f} "
        f"{place.settings.currency}. They count in no drink until you say."
    )
    for found in place.modifiers():
        place = _ask_modifiers(place, found)
    names = place.unmatched()
    decided: list[Answer] = []
    try:
        _ask_all(place, names, decided)
    finally:  # what has been said stays said
        if decided:
            path, outcomes = place.match(decided)
            name = path.relative_to(place.settings.folder)
            for outcome in outcomes:
                if outcome.status == "refused":
                    say(outcome.problem, err=True)
            say(f"{counted(len(decided), 'name')} written into {name}, and taken in.")
    left = place.unmatched()
    say(f"{counted(len(left), 'name')} left for later." if left else "Every till name has its match.")


def _ask_modifiers(place: OpenHouse, found: Modifiers) -> OpenHouse:
    shown = ", ".join(f"'{name}'" for name in found.names[:4])
    say("")
    say(f"{counted(len(found.names), 'name')} begin as another does and go on behind '{found.mark}': {shown}.")
    if not asking.yes(f"Do modifiers begin at '{found.mark}', so that the name ends there?"):
        return place
    place = place.end_names_at(found)
    landed = sum(outcome.rows_landed for outcome in place.intake())
    say(f"Written to stillroom.toml (names_end_at), and read anew: {counted(landed, 'row')}.")
    return place


def _ask_all(place: OpenHouse, names: list[OpenName], decided: list[Answer]) -> None:
    from stillroom.answers.matching.open_names import SURE, taught
    from stillroom.answers.matching.said import read

    known = place.drinks()
    drinks = [drink.spec for drink in known]
    sure = [name for name in names if name.is_sure()]
    if len(sure) > 1:
        say("")
        for name in sure:
            say(f"  {name.till_item} is {_perhaps(name.likely)}")
        if asking.yes(f"Accept all {len(sure)}, each above {SURE:.0f} %?"):
            decided += [one for name in sure if (one := read("yes", name, drinks))]
            names = [name for name in names if name not in sure]
    for number, name in enumerate(names, 1):
        try:
            name = taught(name, known, {one.till_item: one.spec for one in decided})
            said = _ask(name, drinks, f"{number} of {len(names)}", place.settings.currency)
        except Stop:
            return
        if said is not None:
            decided.append(said)


class Stop(Exception):
    """No more is to be asked."""


def _ask(name: OpenName, drinks: list[str], place: str, currency: str) -> Answer | None:
    """What is said of one name; None: later."""
    from stillroom.answers.matching.said import read

    each = f", {name.each:.2f} each" if name.each is not None else ""
    say("")
    say(f"{place}   {name.till_item}   ({counted(name.lines, 'line')}, {name.net_amount:,.2f} {currency}{each})")
    guess = name.likely
    if guess:
        several = f": {guess.serves:g} serves?" if guess.serves != 1 else "?"
        say(f"  Perhaps {_perhaps(guess)}{several}")
        say(
            f"  Enter = yes{f', {guess.serves:g} serves' if guess.serves != 1 else ''}; a number = yes, so many serves;"
        )
    say(f"  {'' if guess else 'Enter = later; '}a = another drink; n = not ours; l = later; s = stop here.")
    while True:
        said = asking.asked()
        if said is None or said.casefold() in STOP:
            raise Stop
        said = said or ("yes" if guess else "later")
        if said.casefold() == "a":
            said = _another(name, drinks) or "later"
        try:
            return read(said, name, drinks)
        except UsageError as error:
            say(f"  {error}")


def _another(name: OpenName, drinks: list[str]) -> str | None:
    """The drink that is chosen from a list, likeliest first, or typed; with its serves where the price says several."""
    known = {guess.spec: guess for guess in name.guesses if guess.spec is not None}
    listed = [*known, *(drink for drink in drinks if drink not in known)][:SHOWN]
    say("  Which? A number, or its name.")
    said = asking.chosen([_with_price(drink, known.get(drink)) for drink in listed])
    if said and said.isdecimal() and 1 <= int(said) <= len(listed):
        said = listed[int(said) - 1]
    guess = known.get(said or "")
    if guess is None or guess.serves == 1:
        return said
    say(f"  How many serves is one? Enter = {guess.serves:g}.")
    return f"{said} x {asking.asked() or format(guess.serves, 'g')}"


SHOWN = 9


def _with_price(drink: str, guess: Guess | None) -> str:
    return f"{drink}, a serve at {guess.price:.2f}" if guess and guess.price is not None else drink


def _perhaps(guess: Guess | None) -> str:
    """A guess in words, with how near it is."""
    assert guess is not None
    why = f" like '{guess.like}'" if guess.like else ""
    if guess.spec is None:
        return f"not one of ours ({guess.likeness:.0f} %{why})"
    return f"{_with_price(guess.spec, guess)} ({guess.likeness:.0f} %{why})"


def _told(one: Answer) -> str:
    what = "not one of ours" if one.spec is None else one.spec
    return f"{one.till_item} is {what}{f', {one.serves:g} serves' if one.serves != 1 else ''}"
