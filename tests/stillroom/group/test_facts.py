from __future__ import annotations

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from house_builder import HOUSE, SOURCES, csv_text, good, make_house, put, take_in
from stillroom.group import facts
from stillroom.house.house import House
from stillroom.store import opening
from stillroom_schemas import TABLES

TASTERS = ("Zebedee", "Ambrosia", "Marmaduke")
SECRET = "heard at the back door"

WIDE = """
[[source]]
name = "sheets"
plugin = "tasting-sheet"
files = ["sheets/*.csv"]
wide = { headings_are = "panelist", cells_are = "score" }
"""


def a_house(folder: Path) -> House:
    """A house with a named panel, free text wherever a file may hold any, and a bad cell under a panelist's name."""
    house = make_house(folder, HOUSE + SOURCES + WIDE)
    put(folder, "spec/spec.csv", csv_text([
        good("spec", note=SECRET),
        good("spec", spec="Fig Cordial", kind="preparation", yield_amount="650", yield_unit="ml", keeps_days="5"),
    ]))  # fmt: skip
    put(folder, "spec_line/line.csv", csv_text([
        good("spec_line", item="Fig Cordial", amount="20"),
        good("spec_line", spec="Fig Cordial", item="gin", amount="700"),
    ]))  # fmt: skip
    put(folder, "ingredient/prices.csv", csv_text([good("ingredient", priced_from="2026-01-01")]))
    sales = [good("sale", sold_at=f"2026-03-0{day} 20:00", till_item="Fig Sour", quantity=day) for day in range(2, 7)]
    put(folder, "sale/till.csv", csv_text(sales))
    put(folder, "batch/batches.csv", csv_text([good("batch", made_by=TASTERS[0], note=SECRET)]))
    put(folder, "batch_event/events.csv", csv_text([good("batch_event", happened_on="2026-03-06", reason=SECRET)]))
    put(folder, "tasting/sheet.csv", csv_text([
        good("tasting", session=SECRET, panelist=name, comment=SECRET, score=score)
        for name, score in zip(TASTERS, (7, 6, 5), strict=True)
    ]))  # fmt: skip
    columns = ["session", "tasted_on", "spec", "version", "attribute"]
    sheet = [{**{name: good("tasting")[name] for name in columns}, TASTERS[0]: "7", TASTERS[1]: SECRET}]
    put(folder, "sheets/wide.csv", csv_text(sheet))
    take_in(house)
    return house


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> dict[str, pl.DataFrame]:
    house = a_house(tmp_path_factory.mktemp("house"))
    with opening.reading(house, TABLES) as con:
        return facts.of_store(con, "one", "r1")


def test_every_table_has_the_columns_that_it_promises(found: dict[str, pl.DataFrame]) -> None:
    assert {facts.HOUSES, *found} == set(facts.COLUMNS)
    for table, frame in found.items():
        assert dict(frame.schema) == facts.schema(table)
        assert frame.height > 0, table
        assert set(frame["house"]) == {"one"}


def test_no_name_of_a_panelist_and_no_free_text_leaves_a_house(found: dict[str, pl.DataFrame]) -> None:
    for table, frame in found.items():
        said = " ".join(map(str, frame.rows())).casefold()
        assert not [word for word in (*TASTERS, SECRET) if word.casefold() in said], table
    assert sorted(found["panel_scores"]["panelist_number"]) == [1, 2, 3]


def test_facts_say_what_the_house_says(found: dict[str, pl.DataFrame]) -> None:
    days = found["daily_serves"]
    assert days["serves"].to_list() == [2, 3, 4, 5, 6]
    assert days["net_takings"].to_list() == [9] * 5
    assert days["net_price"][1] == pytest.approx(9 / 3)
    [batch] = found["batch_fates"].to_dicts()
    assert (batch["fate"], batch["made"], batch["ended_on"]) == ("spoiled", 650, date(2026, 3, 6))
    assert batch["used"] + batch["lost"] == pytest.approx(650)
    [week] = found["preparation_use"].to_dicts()
    assert (week["week"], week["lost_money"]) == (date(2026, 3, 2), batch["lost_money"])
    assert week["made_money"] == pytest.approx(21)  # 700 ml of gin at 21
    cost = found["costs"].filter(spec="Fig Cordial", is_known=True).row(0, named=True)
    assert cost["cost"] == pytest.approx(21 / 650)  # by ml of what a making gives
    assert cost["per"] == "ml"
    assert found["open_days"]["is_open"].to_list() == [True] * 5
    books = found["ledger"].select(pl.col("rows_read", "landed", "aside", "passed_over").sum()).row(0)
    assert books == (17, 15, 2, 0)
    assert found["aside"].select("table", "column", "rows").rows() == [("tasting", "score", 1)]
