"""Files, their new editions, corrections, undone and missing files in any order, against a naive model of what counts.

And whatever was done: a store made anew from files, settings and decisions says the same.
"""

from __future__ import annotations

import csv
import io
import random
import shutil
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from house_builder import HOUSE, SOURCES, command, csv_text, current, good, make_house, put, take_in
from stillroom.errors import StoreError
from stillroom.house.house import House
from stillroom.store import opening

pytestmark = pytest.mark.usefixtures("rows_alone")

GROUND = {"spec": ("spec", "version"), "batch_event": ("batch", "happened_on")}
"""What a later file replaces."""
SHOWN = {"spec": ("spec", "version", "note"), "batch_event": ("batch", "happened_on", "reason")}
WRONG = {"spec": "kind", "batch_event": "event"}
Row = dict[str, str]


@dataclass
class Edition:
    """What the model knows of one content of one file: its rows by row number."""

    file: str
    rows: dict[int, Row]
    undone: bool = False
    gone: bool = False
    was: list[str] = field(default_factory=list)
    """Names that it had before."""
    corrected: dict[int, Row] = field(default_factory=dict)

    def good(self, table: str) -> list[Row]:
        """The rows that land: none that is wrong, and no key twice."""
        found: list[Row] = []
        for one in (self.corrected.get(number, one) for number, one in sorted(self.rows.items())):
            twice = table == "spec" and any(on_ground(one, table) == on_ground(other, table) for other in found)
            if one[WRONG[table]] != "?" and not twice:
                found.append(one)
        return found

    def waiting(self, table: str) -> set[int]:
        landed = [id(one) for one in self.good(table)]
        return {n for n, one in self.rows.items() if id(self.corrected.get(n, one)) not in landed}


def on_ground(one: Row, table: str) -> tuple[str, ...]:
    return tuple(one[column].casefold() for column in GROUND[table])


def row(rng: random.Random, table: str) -> Row:
    mark = str(rng.randrange(10**9))
    if table == "spec":
        made = good("spec", spec=rng.choice(["Ash", "ASH", "Bay"]), version=rng.choice("12"), note=mark)
    else:
        made = good("batch_event", batch=rng.choice("xXy"), happened_on=f"2026-03-0{rng.choice('345')}", reason=mark)
    return {name: str(cell) for name, cell in made.items()} | ({WRONG[table]: "?"} if rng.random() < 0.3 else {})


class Model:
    """Every edition in the order of files; with `kept`, the newest of each file is all it says."""

    def __init__(self, table: str, *, kept: bool) -> None:
        self.table, self.kept, self.editions = table, kept, list[Edition]()

    def standing(self) -> list[Edition]:
        there = [one for one in self.editions if not one.undone]
        last = {name: one for one in there for name in (*one.was, one.file)}
        return [one for one in there if not one.gone and (not self.kept or last[one.file] is one)]

    def in_force(self) -> Counter[tuple[str, ...]]:
        files, counted = [one.good(self.table) for one in self.standing()], Counter[tuple[str, ...]]()
        for place, rows in enumerate(files):
            later = {on_ground(one, self.table) for file in files[place + 1 :] for one in file}
            left = [one for one in rows if on_ground(one, self.table) not in later]
            counted.update(tuple(one[column] for column in SHOWN[self.table]) for one in left)
        return counted


def corrected(rng: random.Random, house: House, model: Model, edition: Edition, name: str) -> None:
    """Some of what waits of an edition is corrected and taken in."""
    out = house.folder / f"out-{name}"
    command("aside", "--out", out, house=house)
    for written in out.glob("*.csv"):
        lines = list(csv.DictReader(io.StringIO(written.read_text(encoding="utf-8"))))
        if lines[0]["set aside from"] != edition.file or {
            int(one["set aside row"]) for one in lines
        } != edition.waiting(model.table):
            continue
        chosen = [one for one in lines if rng.random() < 0.7]
        for cells in chosen:
            cells.update(row(rng, model.table))
            edition.corrected[int(cells["set aside row"])] = dict(cells)
        if chosen:
            take_in(house, put(house.folder, f"corrections/{name}.csv", csv_text(chosen)))


def moved_or_gone(rng: random.Random, house: House, model: Model, edition: Edition, name: str) -> None:
    """A file has another name, or its last one again; or it is deleted, and said to be gone."""
    path = house.folder / edition.file
    last = next(one for one in reversed(model.editions) if one.file == edition.file)
    if path.exists() and last is edition and rng.random() < 0.6:
        if edition.was and not (house.folder / edition.was[-1]).exists() and rng.random() < 0.5:
            name = edition.was[-1]
        path.rename(house.folder / name)
        edition.was, edition.file = [*edition.was, edition.file], name
    else:
        path.unlink(missing_ok=True)
        names, there = {edition.file}, model.standing()
        for one in reversed(model.editions):  # those before it go with it, under all names that it had
            names |= {*one.was} if one.file in names and one in there else set()
            one.gone |= one.file in names and not one.undone
        assert command("gone", edition.file, house=house).code == 0
    take_in(house)


def settle(house: House, model: Model) -> None:
    found = current(house, model.table, *SHOWN[model.table])
    assert Counter(tuple(map(str, one)) for one in found) == model.in_force()


@pytest.mark.parametrize("kept", [True, False])
@pytest.mark.parametrize("table", ["spec", "batch_event"])
@pytest.mark.parametrize("seed", range(2))
def test_any_sequence_leaves_in_force_what_the_naive_model_says(
    tmp_path: Path, table: str, kept: bool, seed: int
) -> None:
    rng, model = random.Random(seed), Model(table, kept=kept)
    said = f'table = "{table}"\n'
    house = make_house(tmp_path / "house", HOUSE + SOURCES.replace(said, f"{said}kept = {str(kept).lower()}\n"))
    put(house.folder, "batch/b.csv", [good("batch", batch=label) for label in "xy"])
    take_in(house)
    for step in range(9):
        standing, chance = model.standing(), rng.random()
        on_disk = {one.file: one for one in model.editions if (house.folder / one.file).exists()}
        waiting = [one for one in standing if one.waiting(table) and on_disk.get(one.file) is one]
        if chance < 0.3 and waiting:
            corrected(rng, house, model, rng.choice(waiting), str(step))
        elif chance < 0.4 and standing:
            moved_or_gone(rng, house, model, rng.choice(standing), f"{table}/{step}.csv")
        elif chance < 0.5 and standing:
            chosen = rng.choice([one for one in standing if on_disk.get(one.file) is one] or standing[-1:])
            assert command("undo", chosen.file, house=house).code == 0
            chosen.undone = True
        elif chance < 0.6 and any(one.undone for one in on_disk.values()):
            chosen = rng.choice([one for one in on_disk.values() if one.undone])
            assert command("redo", chosen.file, house=house).code in (0, 1)
            chosen.undone = False
        else:
            name, rows = (
                f"{table}/{rng.choice('ab')}{step % 2}.csv",
                [row(rng, table) for _ in range(rng.randint(1, 4))],
            )
            take_in(house, put(house.folder, name, rows))
            model.editions.append(Edition(name, dict(enumerate(rows, start=2))))
        settle(house, model)
    on_disk = {one.file: one for one in model.editions if (house.folder / one.file).exists()}
    if all(on_disk.get(one.file) is one for one in model.standing()):  # else an edition is lost with the store
        house.store_path.unlink()
        take_in(house)
        settle(house, model)


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
