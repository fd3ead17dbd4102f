"""A chosen menu in words, 80 columns wide; and as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from stillroom.analysis.next_menu.choosing import REDRAWN, Menu
from stillroom.answers.menu.choose import MenuChoice
from stillroom.words import THIN_SPACE, counted, listed, money, number, signed, wrapped

NOT_LINEAR: Final = (
    "Guests of drinks left out return in proportion to what the others sell; to choose, that was put into a line about "
    "the menu chosen, and every menu shown was then reckoned again without it."
)


def choice_text(found: MenuChoice, currency: str) -> str:
    """The whole choice for people: the menu first."""
    blocks = [
        list(_menu(found, currency)),
        list(_next_best(found, currency)),
        list(_prices(found, currency)),
        list(_rests_on(found)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _menu(found: MenuChoice, currency: str) -> Iterator[str]:
    best, chosen = found.choice.best, found.choice.best.chosen
    scored = best.scored
    yield from wrapped(
        f"The best {len(chosen)} of {counted(len(found.found.names), 'drink')}: "
        f"{money(scored.left, currency, 0)} left a week, after what is poured away, missed by running out, and the "
        f"work of makings; all {found.found.today} of today's leave {money(found.today.left, currency, 0)}, "
        "reckoned alike.",
    )
    for place in chosen:
        yield f"  {found.found.names[place]:<32}in {number(100 * found.choice.firm[place]):>3} of 100 demands"
    left_out = [place for place in range(len(found.found.names)) if place not in chosen]
    if left_out:
        firm = [f"in {number(100 * found.choice.firm[place])} of 100" for place in left_out]
        said = [f"{found.found.names[place]} ({often})" for place, often in zip(left_out, firm, strict=True)]
        yield from wrapped(f"Left out: {', '.join(said)}.", then="  ")
    yield from wrapped(
        f"It needs {counted(len(scored.preparations), 'preparation')} and {number(scored.makings, 1)} makings a week"
        f"{f', {number(scored.minutes)} minutes of work' if scored.minutes else ''}.",
        then="  ",
    )


def _next_best(found: MenuChoice, currency: str) -> Iterator[str]:
    if found.choice.next_best:
        yield f"{'Next best':<60}{f'{currency} a week':>20}"
    for menu in found.choice.next_best:
        lines = wrapped(_beside(found, menu), "  ", "    ", 58)
        more = signed(menu.scored.left - found.choice.best.scored.left, 2).replace(THIN_SPACE, " ")
        yield f"{lines[0]:<60}{more:>20}"
        yield from lines[1:]


def _beside(found: MenuChoice, menu: Menu) -> str:
    best = set(found.choice.best.chosen)
    out, into = found.names(sorted(best - set(menu.chosen))), found.names(sorted(set(menu.chosen) - best))
    return f"{listed(into)} for {listed(out)}"


def _prices(found: MenuChoice, currency: str) -> Iterator[str]:
    if found.choice.prices:
        yield f"{'With other limits':<60}{f'{currency} a week':>20}"
    for price in found.choice.prices:
        more = "none is possible" if price.more is None else signed(price.more, 2).replace(THIN_SPACE, " ")
        yield f"  {price.limit[:57]:<58}{more:>20}"


def _rests_on(found: MenuChoice) -> Iterator[str]:
    yield "Rests on:"
    share = found.share
    tenths = f"{number(10 * found.found.share, 1)} of 10 guests of a drink left out order another of ours"
    if not share.stated:
        tenths += f" (8 times in 10: {number(10 * share.low, 1)} to {number(10 * share.high, 1)}; [menu] return_share)"
    said = [
        f"{tenths}.",
        NOT_LINEAR,
        f"The demand was redrawn {REDRAWN} times; beside each drink, in how many of 100 it is in the best menu.",
        "Money with other limits is reckoned by the curves of the preparations' costs.",
        *found.notes,
    ]
    for text in said:
        yield from wrapped(text, "  - ", "    ")


def choice_values(found: MenuChoice, currency: str) -> dict[str, Any]:
    """The choice as plain values; money a week."""
    return {
        "wish": asdict(found.wish),
        "currency": currency,
        "candidates": list(found.found.names),
        "best": _values(found, found.choice.best),
        "next_best": [_values(found, menu) for menu in found.choice.next_best],
        "today": asdict(found.today),
        "limits": [asdict(price) for price in found.choice.prices],
        "in_best": {name: float(part) for name, part in zip(found.found.names, found.choice.firm, strict=True)},
        "return_share": {"taken": found.found.share, "low": found.share.low, "high": found.share.high},
        "notes": [NOT_LINEAR, *found.notes],
    }


def _values(found: MenuChoice, menu: Menu) -> dict[str, Any]:
    return {"drinks": found.names(menu.chosen), **asdict(menu.scored), "by_the_programme": menu.programme}
