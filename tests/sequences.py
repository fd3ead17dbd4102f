"""Files, their new editions, corrections, undone and missing files in any order, beside a naive model of what counts.

The model says anew, in words of its own, what `docs/adr/in-force-is-derived.md` says of editions and of their order.
"""

from __future__ import annotations

import csv
import io
import random
from collections import Counter
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import count
from pathlib import Path

from house_builder import HOUSE, SOURCES, command, csv_text, current, good, make_house, put, take_in
from stillroom.house.house import House

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
    history: int
    """The same of all editions of a file, whatever that was called."""
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
        self.newest: dict[str, Edition] = {}
        """Of each name, the edition that was taken in last under it."""
        self.histories: dict[str, int] = {}
        self.new = count()

    def taken(self, file: str, rows: list[Row]) -> None:
        history = self.histories.setdefault(file, next(self.new))
        self.newest[file] = Edition(file, dict(enumerate(rows, start=2)), history)
        self.editions.append(self.newest[file])

    def put_back(self, edition: Edition) -> None:
        """An earlier content is the file's newest again."""
        if self.newest[edition.file] is not edition:
            self.editions = [*(one for one in self.editions if one is not edition), edition]
            edition.history = self.histories.setdefault(edition.file, next(self.new))
        self.newest[edition.file], edition.gone = edition, False

    def renamed(self, edition: Edition, name: str) -> None:
        """All editions go with their file; where another had the name, they are one file from now on."""
        history = self.histories.pop(edition.file)
        now = self.histories.setdefault(name, history)
        for one in self.editions:
            one.history = now if one.history == history else one.history
        edition.was, edition.file = [*edition.was, edition.file], name
        self.newest[name] = edition

    def gone(self, file: str) -> None:
        """What counts of a file of that name goes, and what was before it."""
        for last in [one for one in self.standing() if one.file == file]:
            place = self.editions.index(last)
            for one in self.editions[: place + 1]:
                one.gone |= one.history == last.history and not one.undone

    def standing(self) -> list[Edition]:
        there = [one for one in self.editions if not one.undone]
        last = {one.history: one for one in there}
        return [one for one in there if not one.gone and (not self.kept or last[one.history] is one)]

    def on_disk(self, folder: Path) -> list[Edition]:
        """The editions that files hold."""
        return [one for name, one in self.newest.items() if one.file == name and (folder / name).exists()]

    def in_force(self) -> Counter[tuple[str, ...]]:
        files, counted = [one.good(self.table) for one in self.standing()], Counter[tuple[str, ...]]()
        for place, rows in enumerate(files):
            later = {on_ground(one, self.table) for file in files[place + 1 :] for one in file}
            left = [one for one in rows if on_ground(one, self.table) not in later]
            counted.update(tuple(one[column] for column in SHOWN[self.table]) for one in left)
        return counted


def corrected(rng: random.Random, house: House, model: Model, edition: Edition, name: str) -> None:
    """Some of what waits of an edition is corrected and taken in."""
    out, content = house.folder / f"out-{name}", sha256((house.folder / edition.file).read_bytes()).hexdigest()
    command("aside", "--out", out, house=house)
    for written in out.glob("*.csv"):
        lines = list(csv.DictReader(io.StringIO(written.read_text(encoding="utf-8"))))
        if (lines[0]["set aside from"], lines[0]["edition"]) != (edition.file, f"sha256:{content[:16]}"):
            continue
        # Those whose key a later file has wait no more: they were mended there.
        assert {int(one["set aside row"]) for one in lines} <= edition.waiting(model.table)
        chosen = [one for one in lines if rng.random() < 0.7]
        for cells in chosen:
            cells.update(row(rng, model.table))
            edition.corrected[int(cells["set aside row"])] = dict(cells)
        if chosen:
            take_in(house, put(house.folder, f"corrections/{name}.csv", csv_text(chosen)))


def moved_or_gone(rng: random.Random, house: House, model: Model, edition: Edition, name: str) -> None:
    """A file has another name, or its last one again; or it is deleted, and said to be gone."""
    path = house.folder / edition.file
    if edition in model.on_disk(house.folder) and rng.random() < 0.6:
        if edition.was and not (house.folder / edition.was[-1]).exists() and rng.random() < 0.5:
            name = edition.was[-1]
        path.rename(house.folder / name)
        model.renamed(edition, name)
    else:
        path.unlink(missing_ok=True)
        model.gone(edition.file)
        assert command("gone", edition.file, house=house).code == 0
    take_in(house)


def settle(house: House, model: Model) -> None:
    """The store counts what the model says."""
    found = current(house, model.table, *SHOWN[model.table])
    assert Counter(tuple(map(str, one)) for one in found) == model.in_force()


def step(rng: random.Random, house: House, model: Model, name: str) -> None:
    """One thing that happens to a file of the house."""
    table, standing, there, chance = model.table, model.standing(), model.on_disk(house.folder), rng.random()
    waiting = [one for one in standing if one.waiting(table) and one in there]
    back = [one for one in model.editions if not one.undone and one not in there]
    # To undo what was corrected takes out the corrections; and a name means the edition that was taken in last.
    last = [one for one in standing if model.newest[one.file] is one and not one.corrected]
    undone = [one for one in there if one.undone]
    if chance < 0.25 and waiting:
        corrected(rng, house, model, rng.choice(waiting), name)
    elif chance < 0.4 and standing:
        moved_or_gone(rng, house, model, rng.choice(standing), f"{table}/{name}.csv")
    elif chance < 0.5 and last:
        chosen = rng.choice(last)
        assert command("undo", chosen.file, house=house).code == 0
        chosen.undone = True
    elif chance < 0.6 and undone:
        chosen = rng.choice(undone)
        assert command("redo", chosen.file, house=house).code in (0, 1)
        chosen.undone = False
    elif chance < 0.75 and back:
        chosen = rng.choice(back)
        take_in(house, put(house.folder, chosen.file, list(chosen.rows.values())))
        model.put_back(chosen)
    else:
        file = f"{table}/{rng.choice('ab')}{rng.choice('01')}.csv"
        rows = [row(rng, table) for _ in range(rng.randint(1, 4))]
        take_in(house, put(house.folder, file, rows))
        model.taken(file, rows)
    settle(house, model)


def run_beside_the_model(seed: int, folder: Path, table: str, *, kept: bool, steps: int = 9) -> None:
    """Take some random steps; after each, and in a store made anew at the end, what counts is as the model has it."""
    rng, model = random.Random(seed), Model(table, kept=kept)
    said = f'table = "{table}"\n'
    house = make_house(folder, HOUSE + SOURCES.replace(said, f"{said}kept = {str(kept).lower()}\n"))
    put(house.folder, "batch/b.csv", [good("batch", batch=label) for label in "xy"])
    take_in(house)
    for number in range(steps):
        step(rng, house, model, str(number))
    there = model.on_disk(house.folder)
    if all(one in there for one in model.standing()):  # else an edition is lost with the store
        house.store_path.unlink()
        take_in(house)
        settle(house, model)
