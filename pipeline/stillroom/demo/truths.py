"""What is true of the demo house: the generator puts it in, tests and reports must find it again."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Final

FIRST_DAY: Final = date(2026, 8, 24)
"""First day of the season, a Monday (the house is closed, the preparations are made)."""
LAST_DAY: Final = date(2026, 11, 22)
"""Last day of the season and of the data: 13 weeks."""

ALWAYS_TOO_BIG: Final = "clarified apple and celery"
"""The preparation whose batch is too big for its keep time: 35 to 45 % of what is made is poured away."""
WILL_NOT_BE_USED: Final = "toasted almond syrup"
"""The last batch of this was three makings for a party that was called off: most of it will expire."""
SPOILED: Final = (("clarified cucumber juice", 9, 1), ("ginger honey syrup", 4, 7))
"""Batches that went off before their use-by: preparation, which batch of it, how many days after making."""
OFF_TARGET: Final = ("fig leaf cordial", date(2026, 10, 27), 3.0)
"""Preparation, day and by how much its measured Brix is too high from that day on."""

BETTER: Final = ("Ninth Buoy", 2, 3)
"""Spec, old and new version: panelists truly like the new one better, by 2 points of 9."""
NOT_BETTER: Final = ("smoked pear shrub", 2, 3)
"""Spec, old and new version: the new one is liked a touch less, by 0.2 points of 9; yet it went into service."""
NO_DIFFERENCE: Final = ("toasted almond syrup", 1, 2)
"""Spec, old and new version: a cheaper one that nobody can tell from the old; not in service."""
LIFT: Final = ("Ninth Buoy", date(2026, 10, 6), 1.6)
"""Drink, day and by what factor its sales rose when its third version went into service."""

ADDED_MID_SEASON: Final = ("Lanternfish", date(2026, 10, 13))
"""Drink and its first day on the menu."""
TAKEN_OFF: Final = ("Old Ballast", date(2026, 10, 11))
"""Drink and its last day on the menu."""
RISING: Final = ("Harbour Dues", 1.065)
"""Drink and the factor by which it sells more from week to week."""
FALLING: Final = ("Netmender's Knot", 0.94)
"""Drink and the factor by which it sells less from week to week."""
EARNS_MOST: Final = "Ninth Buoy"
"""The drink with the largest takings less ingredient cost over the season."""
EARNS_LEAST: Final = "Rope and Resin"
"""The drink with the smallest, in all and per day on the menu, of those whose cost is known."""

NO_PRICE: Final = ("dried kelp", "kelp saline", "Slack Water")
"""The ingredient without a price, the preparation it is in, and the only drink that takes it."""

UNMATCHED: Final = ("NINTH BOUY", "LANTERN TEST", "QUAY SPECIAL")
"""Till spellings that no match covers: a typing error, a drink before it had a name, a drink of one evening."""

CORRECTED_FILE: Final = "till/till-2026-10-12_corrected.csv"
"""A later till export; it covers `CORRECTED_DAYS` whole, and differs from the first one in some lines."""
CORRECTED_DAYS: Final = (date(2026, 10, 13), date(2026, 10, 14), date(2026, 10, 15))
"""The business days that were exported twice."""


@dataclass(frozen=True)
class BadRow:
    """A row that must be set aside."""

    file: str
    row_number: int
    """As a spreadsheet shows it: the heading is row 1."""
    column: str
    """Column of the table, not the heading."""
    across: bool = False
    """Wrong only beside a row of another table."""


BAD_ROWS: Final = (
    BadRow("till/till-2026-09-07.csv", 58, "quantity"),
    BadRow("till/till-2026-09-07.csv", 121, "sold_at"),
    BadRow("till/till-2026-09-28.csv", 77, "net_amount"),
    BadRow("till/till-2026-11-02.csv", 203, "net_amount"),
    BadRow("tastings/2026-10-27_low-water-mark.csv", 32, "score"),
    BadRow("trials/2026-10-20_toasted-almond-syrup.csv", 9, "correct"),
    BadRow("specs/specs.csv", 20, "version"),
    BadRow("specs/spec-lines.csv", 44, "unit"),
    BadRow("prices/2026-10-12.csv", 7, "pack_cost"),
    BadRow("batches/batches.csv", 40, "made_amount"),
    BadRow("batches/batch-events.csv", 25, "happened_on"),
    BadRow("batches/batch-events.csv", 61, "unit"),
    BadRow("batches/batch-events.csv", 80, "batch", across=True),
    BadRow("batches/batch-events.csv", 101, "happened_on", across=True),
    BadRow("match/till-match.csv", 12, "serves"),
)
"""Precisely the rows that must be set aside."""

N_BAD_ROWS: Final = dict(Counter(bad.file.split("/")[0] for bad in BAD_ROWS))
"""How many of them there are, by folder."""
