"""Whatever happens to files in any order leaves in force what a naive model says (`sequences.py`).

And whatever was done: a store made anew from files, settings and decisions says the same.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from house_builder import command, csv_text, current, good, make_house, put, take_in
from sequences import run_beside_the_model
from stillroom.errors import StoreError
from stillroom.store import opening

pytestmark = pytest.mark.usefixtures("rows_alone")


@pytest.mark.parametrize("kept", [True, False])
@pytest.mark.parametrize("table", ["spec", "batch_event"])
@pytest.mark.parametrize("seed", range(2))
def test_any_sequence_leaves_in_force_what_the_naive_model_says(
    tmp_path: Path, table: str, kept: bool, seed: int
) -> None:
    run_beside_the_model(seed, tmp_path / "house", table, kept=kept)


@pytest.mark.parametrize("name", ["sale/a.csv", "sale/c.csv"])
def test_with_an_export_that_is_gone_its_older_edition_is(tmp_path: Path, name: str) -> None:
    house = make_house(tmp_path)
    for days in ((2,), (2, 3)):
        path = put(tmp_path, "sale/a.csv", [good("sale", sold_at=f"2026-03-0{day} 20:00") for day in days])
        take_in(house)
    path = path.rename(tmp_path / name)
    take_in(house)
    path.unlink()
    assert command("gone", name, house=house).out.startswith(f"Gone: {name}, 2 rows")
    assert current(house, "sale", "file") == []


def test_a_file_that_is_copied_back_to_the_name_it_had_counts_once(tmp_path: Path) -> None:
    house = make_house(tmp_path, batch=csv_text([good("batch")]))
    event = put(tmp_path, "batch_event/a.csv", [good("batch_event")])
    take_in(house)
    copy = event.rename(tmp_path / "batch_event/c.csv")
    take_in(house)
    shutil.copy2(copy, event)
    take_in(house)
    assert current(house, "batch_event", "file") == [("batch_event/a.csv",)]
    copy.unlink()
    assert [one.problem for one in take_in(house)][-1] == "is not there any more; 0 rows of it still count"


def test_what_is_decided_while_the_store_cannot_be_written_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    house = make_house(tmp_path, batch=csv_text([good("batch")]))
    take_in(house)

    def full(copy: Path, store: Path) -> None:
        raise StoreError("no room.")

    with monkeypatch.context() as patch:
        patch.setattr(opening, "take_its_place", full)
        said = command("undo", "1", house=house)
    assert (said.code, said.out) == (2, "")
    assert said.err == "no room. What was decided is kept, and counts as soon as the store can be written.\n"
    assert current(house, "batch", "batch") == []
