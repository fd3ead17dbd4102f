"""A file behind all others, the first of its name: what it changes is found without a look at all that stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from house_builder import HOUSE, SOURCES, ask, good, make_house, put, take_in
from stillroom.house.house import House
from stillroom.store import in_force, ledger

pytestmark = pytest.mark.usefixtures("rows_alone")

TOLD = (
    "FROM standing ORDER BY ALL",
    "FROM superseded ORDER BY ALL",
    "FROM rows_in_force ORDER BY ALL",
    "FROM current_spec ORDER BY ALL",
    "FROM current_tasting ORDER BY ALL",
    "FROM current_sale ORDER BY ALL",
)


def many_files(folder: Path) -> House:
    """Files of three tables that cover one another, and one row that waits."""
    house = make_house(folder, HOUSE + SOURCES)
    for place, versions in enumerate(("12", "23", "31")):
        put(folder, f"spec/{place}.csv", [good("spec", version=one, note=f"of {place}") for one in versions])
    for place, days in enumerate(((2, 3), (3, 4), (3,), (9,))):
        sold = [f"2026-03-0{day} {hour}:00" for day in days for hour in (19, 20, 21)]
        put(folder, f"sale/{place}.csv", [good("sale", sold_at=at, net_amount=9 + place) for at in sold])
    for place, session in enumerate(("s1", "S1", "s2")):
        put(folder, f"tasting/{place}.csv", [good("tasting", session=session, panelist=one) for one in ("P1", "P2")])
    put(folder, "spec_line/0.csv", [good("spec_line"), good("spec_line", version="9")])
    return house


def test_what_comes_last_changes_what_a_look_at_all_files_says(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    quickly = many_files(tmp_path / "quickly")
    outcomes = take_in(quickly)
    assert sum(one.superseded for one in outcomes) > 5
    monkeypatch.setattr(in_force, "comes_last", lambda *of: False)
    wholly = many_files(tmp_path / "wholly")
    assert take_in(wholly) == outcomes
    assert [ask(quickly, one) for one in TOLD] == [ask(wholly, one) for one in TOLD]


def test_the_ledger_is_not_read_anew_for_each_new_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read = []
    entries = ledger.entries

    def counted(*asked: Any) -> list[ledger.Entry]:
        found = entries(*asked)
        read.append(len(found))
        return found

    monkeypatch.setattr(ledger, "entries", counted)
    files = len(take_in(many_files(tmp_path)))
    assert sum(read) <= 2 * files  # at the beginning and at the end, where it is looked which files are missing
