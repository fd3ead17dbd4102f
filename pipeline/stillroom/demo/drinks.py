"""How each of the demo house's drinks sells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stillroom.demo.truths import ADDED_MID_SEASON, FALLING, RISING, TAKEN_OFF


@dataclass(frozen=True, kw_only=True)
class Selling:
    """How a drink sells, and how the till spells it."""

    serves: float
    """Serves on an evening of average size at the start of the season."""
    spellings: tuple[str, ...]
    weekly: float = 1.0
    """Factor from week to week."""


SELLING: Final = {
    "Ninth Buoy": Selling(serves=11.4, spellings=("NINTH BUOY", "9TH BUOY")),
    "Salt Ledger": Selling(serves=9.6, spellings=("SALT LEDGER",)),
    FALLING[0]: Selling(serves=11.5, spellings=("NETMENDERS", "NETMENDERS KNOT"), weekly=FALLING[1]),
    "Low Water Mark": Selling(serves=8.4, spellings=("LOW WATER",)),
    RISING[0]: Selling(serves=5.2, spellings=("HBR DUES", "HARBOUR DUES"), weekly=RISING[1]),
    "Foghorn Sunday": Selling(serves=6.5, spellings=("FOGHORN",)),
    "Quiet Tonnage": Selling(serves=4.6, spellings=("Q TONNAGE",)),
    "Gull on Credit": Selling(serves=8, spellings=("GULL/CREDIT", "GULL ON CREDIT")),
    "Pilot's Almond": Selling(serves=6, spellings=("PILOTS ALMOND",)),
    "Cold Letter": Selling(serves=6, spellings=("COLD LETTER",)),
    "Slack Water": Selling(serves=4.6, spellings=("SLACK WATER 0%",)),
    ADDED_MID_SEASON[0]: Selling(serves=5.5, spellings=("LANTERNFISH",)),
    TAKEN_OFF[0]: Selling(serves=4, spellings=("OLD BALLAST",)),
    "Rope and Resin": Selling(serves=1.3, spellings=("ROPE+RESIN",)),
}
