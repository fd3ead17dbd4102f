"""A small house whose what-ifs can be reckoned by hand."""

from __future__ import annotations

import pytest

import stillroom
from house_builder import HOUSE, SOURCES, good, make_house, put

DRINKS = {"Harbour Sour": (4, 9.0), "Long Fig": (2, 8.0), "Plain Gin": (6, 6.0)}
PRICES = [
    good("ingredient"),
    good("ingredient", item="fig", pack_amount=1000, pack_unit="g", pack_cost=10, allergens="sulphites"),
]
SPECS = [
    *(good("spec", spec=name, price=1.2 * net) for name, (_, net) in DRINKS.items()),
    good("spec", spec="New Fig", price=12),
    good("spec", spec="fig syrup", kind="preparation", yield_amount=500, yield_unit="ml", keeps_days=3),
]
LINES = [
    good("spec_line", spec="Harbour Sour", item="gin", amount=50),
    good("spec_line", spec="Long Fig", item="gin", amount=20),
    good("spec_line", spec="Long Fig", line=2, item="fig syrup", amount=50),
    good("spec_line", spec="Plain Gin", item="gin", amount=40),
    good("spec_line", spec="New Fig", item="fig syrup", amount=40),
    good("spec_line", spec="fig syrup", item="fig", amount=100, unit="g"),
]
SALES = [
    good("sale", sold_at=f"2026-{month:02d}-{day:02d} 20:00", till_item=name, quantity=n, net_amount=n * net)
    for month, days in ((3, 31), (4, 30))
    for day in range(1, days + 1)
    for name, (n, net) in DRINKS.items()
]
BATCHES = [
    good("batch", batch="F1", preparation="fig syrup", made_on="2026-04-28", use_by="2026-05-01", made_amount=500)
]
HALF = HOUSE + "[menu]\nreturn_share = 0.5\nprice_response = -1\n"


@pytest.fixture(scope="session")
def menu_house(tmp_path_factory):
    folder = make_house(tmp_path_factory.mktemp("menu") / "house", HALF + SOURCES).folder
    tables = {"spec": SPECS, "spec_line": LINES, "ingredient": PRICES, "sale": SALES, "batch": BATCHES}
    for table, rows in tables.items():
        put(folder, f"{table}/{table}.csv", rows)
    opened = stillroom.open(folder)
    assert {outcome.status for outcome in opened.intake()} == {"landed"}
    return opened
