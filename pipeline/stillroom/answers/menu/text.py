"""A what-if in words, 80 columns wide; and as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

from stillroom.analysis.next_menu.assumption import Assumption
from stillroom.analysis.next_menu.menu_week import SEASON_WEEKS, Range
from stillroom.answers.menu.what_if import Coming, DrinkChange, WhatIf
from stillroom.words import THIN_SPACE, amount, counted, listed, money, number, signed, wrapped

TOLD: Final = 0.5
"""A drink whose serves a week change by less is not named."""
MOST_TOLD: Final = 8
"""Drinks that are named; JSON has all."""
LABELS: Final = {
    "serves": "serves",
    "sales": "sales, {}",
    "contribution": "contribution, {}",
    "wasted": "poured away, at cost, {}",
    "missed": "missed by running out, {}",
    "left": "left over, {}",
    "makings": "makings",
    "minutes": "minutes of work",
}
"""What each figure of a what-if is called, with a place for the currency where it is money."""
_DECIMALS: Final = {"wasted": 2, "missed": 2, "makings": 1}


def what_if_text(found: WhatIf, currency: str) -> str:
    """The whole what-if for people: the answer first."""
    blocks = [
        wrapped(answer(found, currency)),
        list(_figures(found, currency)),
        list(_preparations(found, currency)),
        list(_drinks(found.drinks)),
        [line for one in found.coming for line in _coming(one)],
        list(_rests_on(found, currency)),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def answer(found: WhatIf, currency: str) -> str:
    """What it comes to, in a sentence."""
    left = found.figures["left"]
    label = f"{found.label[:1].upper()}{found.label[1:]}"
    season = [SEASON_WEEKS * value for value in (left.more, left.more_low, left.more_high)]
    said = f"{money(abs(season[0]), currency, 0)} {'more' if season[0] > 0 else 'less'} left over a season"
    ends = f"8 times in 10 between {signed(season[1])} and {signed(season[2])}"
    if left.more_low <= 0 <= left.more_high:
        return f"{label}: cannot tell whether it pays. {said} of {SEASON_WEEKS} weeks ({ends}).{_work(found)}"
    return f"{label}: {said} of {SEASON_WEEKS} weeks ({ends}).{_work(found)}"


def _work(found: WhatIf) -> str:
    more = found.figures["makings"].more
    if abs(more) < 0.05:
        return ""
    return f" It {'saves' if more < 0 else 'asks for'} {number(abs(more), 1)} makings a week."


def _figures(found: WhatIf, currency: str) -> Iterator[str]:
    yield _row("A week, as forecast", "today", "then", "difference", "8 times in 10")
    for name in figures_told(found):
        one = found.figures[name]
        if name != "missed" or max(one.today, one.then) >= TOLD:
            yield _range_row(LABELS[name].format(currency), one, _DECIMALS.get(name, 0))
    if found.minutes_unknown:
        what = listed(found.minutes_unknown, 3)
        yield from _said(f"Minutes of work not known for {what}: say them in the spec book (making_minutes).", "  ")


def figures_told(found: WhatIf) -> list[str]:
    """The figures of a week in their order; minutes of work only where they are known of something."""
    minutes = found.figures["minutes"]
    return [name for name in LABELS if name != "minutes" or minutes.today or minutes.then]


def _range_row(label: str, one: Range, decimals: int) -> str:
    ends = f"{signed(one.more_low, decimals)} to {signed(one.more_high, decimals)}"
    cells = number(one.today, decimals), number(one.then, decimals), signed(one.more, decimals)
    return _row(f"  {label}", *cells, ends)


def _row(label: str, today: str, then: str, more: str, ends: str) -> str:
    return f"{label:<30}{today:>9}{then:>9}{more:>12}{ends:>20}".replace(THIN_SPACE, " ").rstrip()


def _preparations(found: WhatIf, currency: str) -> Iterator[str]:
    """Preparations no longer needed, and those that are new."""
    for one in found.gone:
        there = f"{amount(one.on_hand, one.unit)} of it on hand, {money(one.on_hand_cost, currency)}, would be left"
        yield from _said(f"No more {one.preparation}{f': {there}' if one.on_hand > 0 else ''}.")
    new = [one.preparation for one in found.preparations if one.needed and not one.was_needed]
    if new:
        yield from _said(f"To be made besides: {listed(new)}.")


def _drinks(drinks: tuple[DrinkChange, ...]) -> Iterator[str]:
    moved = [one for one in drinks if abs(one.serves.more) >= TOLD]
    if moved:
        yield _row("Serves a week, as forecast", "today", "then", "difference", "8 times in 10")
    for one in sorted(moved, key=lambda one: (-abs(one.serves.more), one.drink))[:MOST_TOLD]:
        yield _range_row(one.drink[:27], one.serves, 0)
    if len(moved) > MOST_TOLD:
        yield f"  {counted(len(moved) - MOST_TOLD, 'drink')} more, by less each"


def _coming(one: Coming) -> Iterator[str]:
    rests = "as it sold before" if one.sold_before else "as the house's new drinks may sell"
    yield from _said(
        f"{one.drink}, version {one.version}: {number(one.low)} to {number(one.high)} serves a week, 8 times in 10, "
        f"{rests}. Allergens stated: {', '.join(one.allergens) or 'none'}."
    )
    for advice in one.cautions:
        yield from _said(f"{advice.title}: {advice.text}", "  ")


def _rests_on(found: WhatIf, currency: str) -> Iterator[str]:
    for warning in found.warnings:
        yield from _said(f"Warning: {warning}")
    yield "Rests on:"
    for text in rests_on(found, currency):
        yield from _said(text, "  - ")


def rests_on(found: WhatIf, currency: str) -> Iterator[str]:
    """The assumptions, each in a sentence."""
    yield _share(found, currency)
    if found.price_response is not None:
        yield _response(found.price_response)
    if found.newcomers is not None:
        new = found.newcomers
        whose = "the house's new drinks" if new.own else "all drinks of the house, as fewer than 3 were new in the data"
        yield (
            f"A new drink sells {new.low:.1f} to {new.high:.1f} times what the mean drink does, 8 times in 10: so did "
            f"{whose} ({counted(len(new.drinks), 'drink')}) in their first season."
        )
    yield (
        "Both menus are reckoned as if made by the prep list's plan, so that they compare; "
        f"{money(found.lost_lately, currency)} a week was lost lately as the batch book has it."
    )
    yield "Sales, costs and what a serve takes are as on the last day in the files, of the weeks ahead as forecast."
    yield from found.notes


def _share(found: WhatIf, currency: str) -> str:
    share = found.return_share
    if share.stated:
        return f"{_tenths(share.least)} of 10 guests of a drink that goes order another of ours: [menu] return_share."
    said = f"{_tenths(share.low)} to {_tenths(share.high)} of 10 guests of a drink that goes order another of ours"
    if share.narrowed:
        said += f", as {counted(share.cases, 'drink')} that came or went tell"
    elif share.cases:
        said += f": assumed, as {counted(share.cases, 'drink')} that came or went tell little"
    else:
        said += ": assumed, as no drink has come or gone long enough"
    ends = [f"at {_tenths(at)} it is {signed(SEASON_WEEKS * more)}" for at, more in found.swept]
    return f"{said}. Contribution a season, in {currency}: {', '.join(ends)}."


def _response(response: Assumption) -> str:
    if response.stated:
        return f"A price 1 % higher sells {abs(response.least):.1f} % less: [menu] price_response."
    source = (
        f"as {counted(response.cases, 'change')} of price alone tell"
        if response.narrowed
        else "assumed, as the house's own changes of price tell little or nothing"
    )
    return f"A price 1 % higher sells {abs(response.high):.1f} to {abs(response.low):.1f} % less: {source}."


def _tenths(share: float) -> str:
    return number(10 * share, 0 if abs(10 * share - round(10 * share)) < 0.05 else 1)


def _said(text: str, first: str = "") -> list[str]:
    return wrapped(text, first, " " * max(len(first), 2))


def what_if_values(found: WhatIf, currency: str) -> dict[str, Any]:
    """The what-if as plain values."""
    return {
        "change": asdict(found.change),
        "label": found.label,
        "last_day": found.last_day,
        "currency": currency,
        "season_weeks": SEASON_WEEKS,
        "a_week": {name: asdict(one) for name, one in found.figures.items()},
        "drinks": [asdict(one) for one in found.drinks],
        "preparations": [asdict(one) for one in found.preparations],
        "no_longer_needed": [one.preparation for one in found.gone],
        "coming": [asdict(one) for one in found.coming],
        "return_share": {
            "low": found.return_share.low,
            "high": found.return_share.high,
            "cases": found.return_share.cases,
        },
        "contribution_a_week_at_share": [{"share": at, "more": more} for at, more in found.swept],
        "price_response": found.price_response and _ends(found.price_response),
        "new_drink_factor": found.newcomers
        and {"low": found.newcomers.low, "high": found.newcomers.high, "drinks": list(found.newcomers.drinks)},
        "minutes_not_known": list(found.minutes_unknown),
        "lost_lately_a_week": found.lost_lately,
        "warnings": list(found.warnings),
        "notes": list(found.notes),
        "rests_on": list(rests_on(found, currency)),
    }


def _ends(one: Assumption) -> dict[str, float]:
    return {"low": one.low, "high": one.high, "cases": one.cases}
