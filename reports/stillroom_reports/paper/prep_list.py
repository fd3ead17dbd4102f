"""The prep list to pin up and write on: a box to tick, room for what was made, and by whom."""

from __future__ import annotations

from stillroom.answers.prep_list import PrepLine, PrepList
from stillroom.words import amount, day_text, unbroken
from stillroom_reports import prep_sheet
from stillroom_reports.paper.typesetting import Printed, typeset


def print_prep_list(listed: PrepList, paper: str) -> Printed:
    """The list as PDF: pour away first, then make, what can wait, what to buy.

    Args:
        paper: A4 or Letter.
    """
    values = {
        "title": f"Prep list, {listed.day:%A} {day_text(listed.day)}",
        "house": listed.house,
        "about": f"Next making {listed.next_making:%A} {day_text(listed.next_making)}. "
        f"Data up to {day_text(listed.last_day)}.",
        "pour": [list(map(unbroken, row)) for row in prep_sheet.past_use_by(listed)],
        "make": [
            {
                "name": prep_sheet.title(line, listed),
                "amount": unbroken(amount(line.make, line.unit)),
                "makings": prep_sheet.makings(line),
                "why": _why(line, listed),
            }
            for line in listed.to_make
        ],
        "wait": [
            [
                prep_sheet.title(line, listed),
                unbroken(prep_sheet.on_hand(line)),
                unbroken(prep_sheet.why(line, listed)),
            ]
            for line in listed.others
        ],
        "buying": prep_sheet.TO_BUY,
        "buy": [
            [one.item, *map(unbroken, (prep_sheet.needed(one), prep_sheet.packs(one, listed.currency)))]
            for one in listed.to_buy
        ],
        "notes": [unbroken(note) for note in listed.notes],
    }
    return typeset("prep-list", values, paper)


def _why(line: PrepLine, listed: PrepList) -> str:
    return unbroken(f"On hand: {prep_sheet.on_hand(line)}. {prep_sheet.why(line, listed)}")
