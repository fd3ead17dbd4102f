"""How a prep list looks: as text for a terminal, as one page to pin up, as JSON and as CSV."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from stillroom.analysis.specs.buying import ToBuy
from stillroom.answers.prep_list import PrepLine, PrepList
from stillroom.safecsv import csv_text
from stillroom.words import amount, counted, money, of_unit, short_day, unbroken, wrapped
from stillroom.words import listed as listed_names
from stillroom_reports.figures import plain_value

SMALL_PART = 0.01
"""Of a making: less that goes to waste is not told."""


def makings(line: PrepLine) -> str:
    """How many makings of the spec, and by which version."""
    number = f"{line.makings:.2f}".rstrip("0").rstrip(".")
    version = f", version {line.version}" if line.version is not None else ""
    said = "half a making" if number == "0.5" else f"{number} making{'' if number == '1' else 's'}"
    return f"{said}{version}"


def chance(share: float) -> str:
    """A chance in words that promise no more than a simulation can tell.

    >>> chance(0.001), chance(0.012), chance(0.42), chance(1.0)
    ('hardly ever', 'once in 100 times', '42 times in 100', 'almost surely')
    """
    if share < 0.01:
        return "hardly ever"
    times = f"{100 * share:.0f}"
    return "almost surely" if share > 0.99 else "once in 100 times" if times == "1" else f"{times} times in 100"


def why(line: PrepLine, listed: PrepList) -> str:
    """Why this amount: use, chances, money."""
    unit = line.unit
    if line.cannot_tell:
        return f"Cannot tell how much to make: {line.cannot_tell}."
    said = [_used(line, listed)]
    if line.lots:
        said.append(f"what is there runs out {chance(line.chance_short or 0.0)}")
    if line.wanted_for:
        said.append("of it today for " + ", ".join(f"{outer} {amount(much, unit)}" for outer, much in line.wanted_for))
    if line.chance_waste and line.chance_waste >= 0.05:
        said.append(f"some expires {chance(line.chance_waste)}, on average {amount(line.wasted, unit)}")
    if line.make > 0:
        if line.make_wasted >= SMALL_PART * line.make:
            said.append(f"of what is made, {amount(line.make_wasted, unit)} is left at the end of its keep, on average")
        said.append(f"making none would cost about {money(line.saves, listed.currency)} more, work counted")
    said += line.notes
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def _used(line: PrepLine, listed: PrepList) -> str:
    expected, low, high = (amount(value, line.unit) for value in (line.expected_use, line.use_low, line.use_high))
    if line.use_high <= 0:
        return f"hardly any used before {listed.next_making}"
    between = "" if low == high else f" (8 times in 10: {low} to {high})"
    return f"{expected} used before {listed.next_making}{between}"


def on_hand(line: PrepLine) -> str:
    """What is there, batch by batch."""
    if not line.lots:
        return "nothing"
    return ", ".join(
        f"{amount(much, line.unit)} {batch}" + (f" (use by {short_day(use_by)})" if use_by else " (no use-by)")
        for batch, much, use_by in line.lots
    )


def title(line: PrepLine, listed: PrepList) -> str:
    """The preparation, and its venue where there are several."""
    several = len({one.venue for one in listed.lines}) > 1
    return f"{line.preparation} ({line.venue})" if several else line.preparation


def past_use_by(listed: PrepList) -> list[tuple[str, str, str]]:
    """What to pour away: which batch, how much is left of it, its use-by."""
    return [
        (f"{title(line, listed)}, batch {batch}", amount(left, line.unit), short_day(use_by))
        for line in listed.lines
        for batch, left, use_by in line.past_use_by
    ]


TO_BUY = "To buy for it, unless it is in the house"


def needed(one: ToBuy) -> str:
    """How much of an ingredient, and what for."""
    return f"{amount(one.amount, one.unit)} for {listed_names(one.wanted_for)}"


def packs(one: ToBuy, currency: str) -> str:
    """The packs that hold it; '' where the price list has none to hold against it."""
    if one.pack is None or one.packs is None:
        return ""
    size = of_unit(f"{one.pack[0]:g}", one.pack[1])
    cost = "" if one.cost is None else f", {money(one.cost, currency)}"
    return f"{counted(one.packs, 'pack')} of {size}{cost}"


def render_text(listed: PrepList) -> str:
    """The list for a terminal."""
    rows = [f"{listed.house}: to make on {listed.day:%A} {listed.day}; next making {listed.next_making}", ""]
    away = past_use_by(listed)
    if away:
        rows += [
            "Past its use-by on this day, pour away and log it:",
            *(f"  {what}: {left}" for what, left, _ in away),
            "",
        ]
    if not listed.to_make:
        rows += ["Nothing needs making.", ""]
    for number, line in enumerate(listed.to_make, 1):
        rows += _wrapped(
            f"{number:>2}. {title(line, listed)}: {amount(line.make, line.unit)} ({makings(line)})", 0, then=4
        )
        rows += _wrapped(f"On hand: {on_hand(line)}.", 4) + _wrapped(why(line, listed), 4) + [""]
    if listed.others:
        rows.append("No making today:")
    for line in listed.others:
        rows += _wrapped(f"{title(line, listed)}: on hand {on_hand(line)}. {why(line, listed)}", 2)
    if listed.to_buy:
        rows += [*([""] if rows[-1] else []), f"{TO_BUY}:"]
    for one in listed.to_buy:
        rows += _wrapped(f"{one.item}: {needed(one)}{', ' if one.packs else ''}{packs(one, listed.currency)}", 2)
    if rows[-1]:
        rows.append("")
    for note in listed.notes:
        rows += _wrapped(note, 0)
    return "\n".join(rows) + "\n"


def _wrapped(text: str, indent: int, then: int | None = None) -> list[str]:
    """Lines of at most `WIDTH`; those after the first begin at `then`."""
    after = " " * (then if then is not None else indent + 2 if indent else 0)
    return wrapped(text, " " * indent, after)


def record(line: PrepLine, listed: PrepList) -> dict[str, Any]:
    """A line as plain values, with its reason."""
    return asdict(line) | {"why": why(line, listed)}


def render_json(listed: PrepList) -> str:
    """The list as one JSON document."""
    document = {
        "house": listed.house,
        "currency": listed.currency,
        "day": listed.day,
        "next_making": listed.next_making,
        "last_day_in_data": listed.last_day,
        "lines": [record(line, listed) for line in listed.lines],
        "to_buy": [asdict(one) for one in listed.to_buy],
        "notes": listed.notes,
    }
    return json.dumps(plain_value(document), ensure_ascii=False, indent=2, allow_nan=False, default=str) + "\n"


CSV_COLUMNS = (
    "venue", "preparation", "make", "unit", "makings", "version", "on_hand", "expected_use", "use_low", "use_high",
    "chance_short", "chance_waste", "wasted", "make_wasted", "saves", "why",
)  # fmt: skip


def render_csv(listed: PrepList) -> str:
    """The list as CSV, a line a preparation, in the order of need."""
    records = [record(line, listed) for line in listed.lines]
    return csv_text(CSV_COLUMNS, [[_cell(values[name]) for name in CSV_COLUMNS] for values in records])


def _cell(value: object) -> object:
    return f"{value:.6g}" if isinstance(value, float) else value


def render_html(listed: PrepList) -> str:
    """The list as one page that opens offline and prints on one sheet of A4 or Letter."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("stillroom_reports", "look"), autoescape=True, undefined=jinja2.StrictUndefined
    )
    environment.filters["unbroken"] = unbroken
    environment.globals.update(
        amount=amount, makings=makings, why=why, on_hand=on_hand, title=title, needed=needed, packs=packs
    )
    environment.globals.update(past_use_by=past_use_by(listed), to_buy=TO_BUY)
    size = 11 if len(listed.lines) <= 10 else 9.5 if len(listed.lines) <= 20 else 8.5
    return environment.get_template("prep-list.html").render(listed=listed, size=size)
