"""The drinks on the demo house's menu, every version, and how each sells."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from stillroom.demo.model import Version, lines
from stillroom.demo.truths import ADDED_MID_SEASON, FALLING, FIRST_DAY, LIFT, RISING, TAKEN_OFF

SPRING: Final = date(2026, 5, 26)
BEFORE_SEASON: Final = FIRST_DAY - timedelta(days=1)


def _drink(
    spec: str,
    version: int,
    text: str,
    *,
    method: str,
    price: float,
    since: date | None = FIRST_DAY,
    until: date | None = None,
    dilution: float | None = None,
    note: str | None = None,
) -> Version:
    return Version(
        spec=spec,
        version=version,
        kind="drink",
        lines=lines(text),
        method=method,
        dilution_pct=dilution,
        price=price,
        since=since,
        until=until,
        note=note,
    )


DRINKS: Final = (
    _drink(
        "Ninth Buoy",
        1,
        "50 ml gin; 20 ml fig leaf cordial; 25 ml lemon juice; 1 each candied lemon peel",
        method="shaken",
        price=13.8,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Ninth Buoy",
        2,
        "45 ml gin; 25 ml fig leaf cordial; 20 ml lemon juice; 10 ml dry vermouth; 1 each candied lemon peel",
        method="shaken",
        dilution=31,
        price=14.4,
        until=LIFT[1] - timedelta(days=1),
    ),
    _drink(
        "Ninth Buoy",
        3,
        "45 ml gin; 30 ml fig leaf cordial; 15 ml lemon juice; 20 ml dry sherry; 1 each candied lemon peel",
        method="shaken",
        dilution=34,
        price=14.4,
        since=LIFT[1],
        note="Dry sherry for vermouth, more cordial, less lemon.",
    ),
    _drink(
        "Salt Ledger",
        1,
        "50 ml blended whisky; 20 ml smoked pear shrub; 15 ml ginger honey syrup; 1 each dried pear fan",
        method="shaken",
        price=13.8,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Salt Ledger",
        2,
        "50 ml blended whisky; 28 ml smoked pear shrub; 15 ml ginger honey syrup; 5 ml lemon juice; "
        "1 each dried pear fan",
        method="shaken",
        dilution=36,
        price=14.4,
    ),
    _drink(
        "Netmender's Knot",
        1,
        "4 cl white rum; 5 cl clarified cucumber juice; 2 cl lime juice; 2 cl plain syrup; 6 cl sparkling water",
        method="built",
        price=12.0,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Netmender's Knot",
        2,
        "5 cl white rum; 6 cl clarified cucumber juice; 2 cl lime juice; 1.5 cl plain syrup; 6 cl sparkling water",
        method="built",
        price=11.4,
    ),
    _drink(
        "Low Water Mark",
        1,
        "45 ml tequila; 15 ml roast pepper syrup; 25 ml lime juice; 5 ml orange liqueur",
        method="shaken",
        price=13.2,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Low Water Mark",
        2,
        "45 ml tequila; 22 ml roast pepper syrup; 22 ml lime juice; 5 ml orange liqueur",
        method="shaken",
        price=13.8,
    ),
    _drink(
        "Low Water Mark",
        3,
        "45 ml tequila; 32 ml roast pepper syrup; 20 ml lime juice; 5 ml orange liqueur",
        method="shaken",
        price=13.8,
        since=None,
        note="On trial: sweeter.",
    ),
    _drink(
        "Harbour Dues",
        1,
        "45 ml aged rum; 25 ml sweet vermouth; 10 ml burnt honey caramel; 2 dash aromatic bitters",
        method="stirred",
        dilution=26,
        price=14.4,
    ),
    _drink(
        "Foghorn Sunday",
        1,
        "80 ml milk punch base; 20 ml sparkling wine; 1 each candied lemon peel",
        method="built",
        price=13.8,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Foghorn Sunday",
        2,
        "90 ml milk punch base; 1 each candied lemon peel",
        method="built",
        price=14.4,
        note="Served over one large block.",
    ),
    _drink(
        "Quiet Tonnage",
        1,
        "50 ml beeswax rum; 20 ml dry sherry; 5 ml plain syrup; 1 dash orange bitters",
        method="stirred",
        price=12.6,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        "Quiet Tonnage",
        2,
        "50 ml beeswax rum; 25 ml dry sherry; 1 barspoon plain syrup; 2 dash orange bitters",
        method="stirred",
        dilution=24,
        price=12.6,
    ),
    _drink(
        "Gull on Credit",
        1,
        "50 ml gin; 15 ml raspberry shrub; 20 ml lemon juice; 15 ml plain syrup; 20 ml raw egg white",
        method="shaken",
        price=12.6,
        since=date(2026, 3, 3),
        until=date(2026, 5, 25),
        note="Raw egg white.",
    ),
    _drink(
        "Gull on Credit",
        2,
        "45 ml gin; 20 ml raspberry shrub; 20 ml lemon juice; 15 ml plain syrup; 20 ml raw egg white",
        method="shaken",
        price=12.6,
        since=SPRING,
        until=date(2026, 7, 12),
        note="Raw egg white.",
    ),
    _drink(
        "Gull on Credit",
        3,
        "45 ml gin; 25 ml raspberry shrub; 15 ml lemon juice; 15 ml plain syrup; 20 ml raw egg white",
        method="shaken",
        price=12.6,
        since=date(2026, 7, 14),
        until=BEFORE_SEASON,
        note="Raw egg white.",
    ),
    _drink(
        "Gull on Credit",
        4,
        "45 ml gin; 20 ml raspberry shrub; 15 ml lemon juice; 10 ml plain syrup; 20 ml raw egg white",
        method="shaken",
        dilution=38,
        price=13.8,
        note="Raw egg white.",
    ),
    _drink(
        "Pilot's Almond",
        1,
        "45 ml brandy; 20 ml toasted almond syrup; 20 ml lemon juice; 10 ml orange liqueur",
        method="shaken",
        price=13.8,
    ),
    _drink(
        "Cold Letter",
        1,
        "50 ml vodka; 50 ml clarified apple and celery; 10 ml fig leaf cordial; 15 ml dry vermouth",
        method="stirred",
        price=13.8,
    ),
    _drink(
        "Slack Water",
        1,
        "90 ml clarified cucumber juice; 25 ml verjus; 20 ml raspberry shrub; 2 dash kelp saline; "
        "60 ml sparkling water",
        method="built",
        price=11.0,
        note="Without alcohol.",
    ),
    _drink(
        ADDED_MID_SEASON[0],
        1,
        "45 ml mezcal; 15 ml burnt honey caramel; 22 ml lemon juice; 5 ml orange liqueur",
        method="shaken",
        price=15.0,
        since=ADDED_MID_SEASON[1],
    ),
    _drink(
        TAKEN_OFF[0],
        1,
        "45 ml blended whisky; 25 ml sweet vermouth; 15 ml black tea syrup; 1 each dried pear fan",
        method="stirred",
        price=13.2,
        since=SPRING,
        until=BEFORE_SEASON,
    ),
    _drink(
        TAKEN_OFF[0],
        2,
        "50 ml blended whisky; 20 ml sweet vermouth; 10 ml black tea syrup; 1 dash aromatic bitters",
        method="stirred",
        price=13.8,
        until=TAKEN_OFF[1],
    ),
    _drink(
        "Rope and Resin",
        1,
        "55 ml pine tip gin; 25 ml dry vermouth; 5 ml plain syrup; 1 dash orange bitters",
        method="stirred",
        price=16.0,
        note="Pine tips are foraged.",
    ),
)


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
