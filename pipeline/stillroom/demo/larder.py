"""What the demo house buys: packs, prices at two dates, and what is in each ingredient.

Acid without a kind is given as citric acid. What is in fruit and juice, its ranges, and the densities are round values
from memory.
"""

from __future__ import annotations

from datetime import date
from typing import Final

from stillroom.demo.model import Row, plain
from stillroom.demo.truths import NO_PRICE

FIRST_PRICES: Final = date(2026, 8, 17)
NEW_PRICES: Final = date(2026, 10, 12)
COLUMNS: Final = (
    "item",
    "pack_amount",
    "pack_unit",
    "pack_cost",
    "priced_on",
    "usable_pct",
    "abv_pct",
    "sugar_pct",
    "acid_pct",
    "density_g_ml",
    "allergens",
)
KINDS: Final = {
    "citric acid": "citric",
    "malic acid": "malic",
    "lemon juice": "citric",
    "lime juice": "citric",
    "cider vinegar": "acetic",
    "white wine vinegar": "acetic",
}
"""Item -> which acid its acid is."""
RANGES: Final = {
    "lemon juice": {"sugar_low": "2.2", "sugar_high": "2.7", "acid_low": "3.9", "acid_high": "5.4"},
    "lime juice": {"sugar_low": "1.3", "sugar_high": "1.9", "acid_low": "3.1", "acid_high": "5.8"},
    "pear": {"sugar_low": "8.5", "sugar_high": "11.8"},
    "apple": {"sugar_low": "8.8", "sugar_high": "12"},
}
"""Item -> how far its fruit differs."""

# item | pack | cost | new cost | usable | abv | sugar | acid | density | allergens
_LARDER: Final = f"""
gin | 0.7 l | 30.50 | 31.60 | | 43 | 0 | 0 | 0.943 |
white rum | 0.7 l | 29.00 | | | 40 | 0 | 0 | 0.948 |
aged rum | 0.7 l | 34.00 | 35.50 | | 42 | 0 | 0 | 0.945 |
blended whisky | 0.7 l | 33.00 | | | 40 | 0 | 0 | 0.948 |
brandy | 0.7 l | 35.00 | | | 40 | 0 | 0 | 0.948 |
tequila | 0.7 l | 38.50 | 39.80 | | 40 | 0 | 0 | 0.948 |
mezcal | 0.7 l | 49.00 | | | 45 | 0 | 0 | 0.940 |
vodka | 0.7 l | 27.00 | | | 40 | 0 | 0 | 0.948 |
orange liqueur | 0.7 l | 24.00 | | | 38 | 23 | 0 | 1.030 |
dry vermouth | 0.75 l | 12.50 | | | 18 | 3 | 0.5 | 0.990 | sulphites
sweet vermouth | 0.75 l | 12.90 | | | 16 | 14 | 0.5 | 1.040 | sulphites
dry sherry | 0.75 l | 13.60 | 14.20 | | 15 | 0.2 | 0.45 | 0.982 | sulphites
sparkling wine | 0.75 l | 8.90 | | | 11.5 | 1 | 0.6 | 0.992 | sulphites
aromatic bitters | 0.2 l | 16.00 | | | 44 | 4 | 0 | 0.960 |
orange bitters | 0.2 l | 15.00 | | | 35 | 4 | 0 | 0.970 |
verjus | 0.75 l | 11.50 | | | 0 | 6 | 2.4 | 1.030 | sulphites
lemon juice | 1 l | 7.20 | 7.90 | | 0 | 2.5 | 4.7 | 1.030 |
lime juice | 1 l | 9.40 | 8.80 | | 0 | 1.7 | 4.5 | 1.030 |
sparkling water | 6 l | 5.40 | | | 0 | 0 | 0 | 0.998 |
water | 1 l | 0 | | | 0 | 0 | 0 | 0.998 |
white sugar | 10 kg | 13.50 | 13.90 | | 0 | 100 | 0 | |
honey | 3 kg | 31.50 | | | 0 | 80 | 0.4 | 1.420 |
citric acid | 1 kg | 11.00 | | | 0 | 0 | 100 | |
malic acid | 1 kg | 14.00 | | | 0 | 0 | 100 | |
cider vinegar | 5 l | 16.50 | | | 0 | 0.4 | 5 | 1.010 |
white wine vinegar | 5 l | 18.00 | | | 0 | 0.2 | 6 | 1.010 | sulphites
fig leaves | 100 g | 9.50 | | | | | | |
pear | 5 kg | 15.50 | 13.50 | 82 | 0 | 10 | 0.3 | |
raspberries | 1 kg | 12.50 | | 95 | 0 | 4.5 | 1.6 | |
cucumber | 5 kg | 13.00 | 14.50 | 88 | 0 | 1.7 | 0.1 | |
apple | 5 kg | 16.50 | | 85 | 0 | 10.4 | 0.5 | |
celery | 1 kg | 4.20 | | 80 | 0 | 1.3 | 0.1 | | celery
red pepper | 1 kg | 4.20 | 4.90 | 78 | 0 | 4.2 | 0.2 | |
ginger juice | 1 kg | 7.50 | | 55 | 0 | 2 | 0.2 | 1.020 |
lemon | 10 each | 4.20 | | | | | | |
almonds | 1 kg | 13.50 | 14.80 | | | | | | almonds
orange flower water | 250 ml | 5.50 | | | 0 | 0 | 0 | 0.998 |
whole milk | 1 l | 1.45 | | | 0 | 4.7 | 0.1 | 1.030 | milk
raw egg white | 960 ml | 8.40 | | | 0 | 0.7 | 0 | 1.035 | eggs
black tea | 500 g | 15.00 | | | | | | |
agar | 100 g | 7.00 | | | | | | |
beeswax | 500 g | 14.00 | | | | | | |
pine tips | 100 g | 8.00 | | | | | | |
applewood chips | 1 kg | 6.50 | | | | | | |
sea salt | 1 kg | 2.20 | | | | | | |
{NO_PRICE[0]} | 50 g | | | | | | | |
"""


def _items() -> list[tuple[list[str], str]]:
    """The larder as (cells of a price row, new cost)."""
    items = []
    for text in _LARDER.strip().splitlines():
        item, pack, cost, new_cost, *contents = (cell.strip() for cell in text.split("|"))
        amount, unit = pack.split()
        items.append(([item, plain(float(amount)), unit, cost, "", *contents], new_cost))
    return items


def first_prices() -> list[Row]:
    """Every ingredient, at the price before the season."""
    return [_priced(cells, cells[3], FIRST_PRICES) for cells, _ in _items()]


def new_prices() -> list[Row]:
    """The ingredients whose price changed in mid-season."""
    return [_priced(cells, new_cost, NEW_PRICES) for cells, new_cost in _items() if new_cost]


def _priced(cells: list[str], cost: str, day: date) -> Row:
    row = {**dict(zip(COLUMNS, cells, strict=True)), "pack_cost": cost, "priced_on": day}
    ends = dict.fromkeys(("sugar_low", "sugar_high", "acid_low", "acid_high"), "")
    return {**row, "acid_kind": KINDS.get(cells[0], ""), **ends, **RANGES.get(cells[0], {})}
