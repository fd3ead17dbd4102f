"""Files, their new editions, corrections, undone and missing files in any order, against a naive model of what counts.

And whatever was done: a store made anew from files, settings and decisions says the same.
"""

from __future__ import annotations

import csv
import io
import random
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from house_builder import HOUSE, SOURCES, command, csv_text, current, good, make_house, put, take_in
from stillroom.house.house import House

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
        there = [one for one in self.editions if not (one.undone or one.gone)]
        last = {one.file: one for one in there}
        return [one for one in there if not self.kept or last[one.file] is one]

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
    for step in range(7):
        standing, chance = model.standing(), rng.random()
        on_disk = {one.file: one for one in model.editions}
        waiting = [one for one in standing if one.waiting(table) and on_disk[one.file] is one]
        if chance < 0.3 and waiting:
            corrected(rng, house, model, rng.choice(waiting), str(step))
        elif chance < 0.45 and standing:
            chosen = rng.choice([one for one in standing if on_disk[one.file] is one] or standing[-1:])
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
    lost = {one.file for one in model.editions if on_disk_now(model)[one.file] is not one and one in model.standing()}
    if not lost:
        house.store_path.unlink()
        take_in(house)
        settle(house, model)


def on_disk_now(model: Model) -> dict[str, Edition]:
    return {one.file: one for one in model.editions}
