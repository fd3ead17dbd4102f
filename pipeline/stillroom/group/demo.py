"""An invented group: the demo house many times, each time by another seed and name."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.files import new_folder
from stillroom.group.settings import GROUP_NAME

if TYPE_CHECKING:
    from stillroom.demo.houses import House

FIRST: Final = (
    *("Brinewick", "Eelmarket", "Gullfeather", "Hushing", "Knotgrass", "Marram"),
    *("Netloft", "Oarlock", "Pebbleback", "Quillfish", "Saltpan", "Tarbarrel"),
)
SECOND: Final = ("Room", "Stair", "Cellar", "Landing", "Parlour", "Loft", "Yard", "Passage", "Vault", "Steps")
"""Parts of invented names of houses."""

SIZES: Final = (1.0, 0.7, 1.3, 0.85, 1.6, 0.55, 1.15)
"""How many times as much as the demo house they sell, in turn."""
SELLS_BETTER: Final = ("Ninth Buoy", 3)
"""Spec and version that truly sells better (`truths.LIFT`)."""
SELLS_THE_SAME: Final = ("Low Water Mark", 3)
"""Spec and version that sells neither more nor less."""
CAME: Final = (
    ("10-06", "10-13"),
    ("09-15", ""),
    ("", "10-27"),
    ("10-20", ""),
    ("10-13", "09-22"),
    ("09-22", "10-06"),
    ("", ""),
    ("11-03", "10-20"),
    ("09-29", ""),
    ("", "09-29"),
    ("10-27", "11-03"),
    ("10-06", ""),
)
"""Month and day on which the two came to each house, in turn, whatever its size; '' where they never did."""

TEXT: Final = """\
# Settings of this group of houses. Lines that begin with # are remarks.

[group]
name = "Skarnhaven Houses"   # heads every page
currency = "EUR"             # beside money; every house keeps its books in it
spark = "local[*]"           # where Spark runs: all processors of this machine

[houses]
at = ["houses/*"]            # every folder there that is a house
"""


def write_demo(folder: Path, houses: int) -> None:
    """Write an invented group into a folder, which is created; the same number gives the same bytes.

    Raises:
        UsageError: the folder is there and is not empty, or cannot be written to.
    """
    from stillroom import demo

    with new_folder(folder, "demo group"):
        (folder / GROUP_NAME).write_text(TEXT, encoding="utf-8", newline="\n")
    for number in range(houses):
        name = house_name(number)
        demo.write_demo(folder / "houses" / name.lower().replace(" ", "-"), seed=2026 + number, house=house(number))


def house(number: int) -> House:
    """What is true of a house of the group."""
    from stillroom.demo.houses import House
    from stillroom.demo.truths import FIRST_DAY

    days = CAME[number % len(CAME)]
    came = {
        version: date.fromisoformat(f"{FIRST_DAY.year}-{day}") if day else None
        for version, day in zip((SELLS_BETTER, SELLS_THE_SAME), days, strict=True)
    }
    return House(name=f"The {house_name(number)}", size=SIZES[number % len(SIZES)], came=came)


def house_name(number: int) -> str:
    """The name of a house of the group.

    >>> house_name(0), house_name(12), house_name(121)
    ('Brinewick Room', 'Brinewick Stair', 'Eelmarket Room 2')
    """
    again, place = divmod(number, len(FIRST) * len(SECOND))
    second, first = divmod(place, len(FIRST))
    return f"{FIRST[first]} {SECOND[second]}{f' {again + 1}' if again else ''}"
