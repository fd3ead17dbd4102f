"""An invented group: the demo house many times, each time by another seed and name."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from stillroom.errors import UsageError
from stillroom.group.settings import GROUP_NAME

FIRST: Final = (
    *("Brinewick", "Eelmarket", "Gullfeather", "Hushing", "Knotgrass", "Marram"),
    *("Netloft", "Oarlock", "Pebbleback", "Quillfish", "Saltpan", "Tarbarrel"),
)
SECOND: Final = ("Room", "Stair", "Cellar", "Landing", "Parlour", "Loft", "Yard", "Passage", "Vault", "Steps")
"""Parts of invented names of houses."""

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

    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise UsageError(f"{folder} is not empty: name a new folder for the demo group.")
        (folder / GROUP_NAME).write_text(TEXT, encoding="utf-8", newline="\n")
    except OSError as error:
        raise UsageError(f"The demo group cannot be written to {folder}: {error.strerror or error}.") from None
    for number in range(houses):
        name = house_name(number)
        demo.write_demo(folder / "houses" / name.lower().replace(" ", "-"), seed=2026 + number, house=f"The {name}")


def house_name(number: int) -> str:
    """The name of a house of the group.

    >>> house_name(0), house_name(12), house_name(121)
    ('Brinewick Room', 'Brinewick Stair', 'Eelmarket Room 2')
    """
    again, place = divmod(number, len(FIRST) * len(SECOND))
    second, first = divmod(place, len(FIRST))
    return f"{FIRST[first]} {SECOND[second]}{f' {again + 1}' if again else ''}"
