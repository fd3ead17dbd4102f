"""Houses of a handful of rows, and a group of them."""

from __future__ import annotations

from pathlib import Path

from house_builder import HOUSE, SOURCES, csv_text, good, make_house, put
from stillroom.group.settings import Group, load_group

PRICES = csv_text([good("ingredient", priced_from="2026-01-01")])


def sales(*quantities: int) -> str:
    """A till's export: a line on each day from 2 March 2026 on."""
    days = enumerate(quantities, start=2)
    return csv_text([good("sale", sold_at=f"2026-03-{day:02d} 20:00", quantity=sold) for day, sold in days])


def write_house(folder: Path, *quantities: int) -> None:
    """A house with a spec, a price and so much sold on each day."""
    make_house(folder, HOUSE + SOURCES, spec=csv_text([good("spec")]), spec_line=csv_text([good("spec_line")]))
    put(folder, "ingredient/prices.csv", PRICES)
    put(folder, "sale/till.csv", sales(*quantities))


def make_group(folder: Path, settings: str = "", at: str = "houses/*", **houses: tuple[int, ...]) -> Group:
    """A group of such houses, by name, on two processors; `at`: where more houses are."""
    for name, quantities in houses.items():
        write_house(folder / "houses" / name, *quantities)
    text = f'[group]\nname = "The Group"\nspark = "local[2]"\n[houses]\nat = ["houses/*", "{at}"]\n{settings}'
    (folder / "group.toml").write_text(text, encoding="utf-8")
    return load_group(folder)
