"""Files, their new editions, corrections and undone intakes in any order, against a naive model of what is in force."""

from __future__ import annotations

import csv
import io
import random
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from house_builder import books, command, csv_text, current, good, make_house, put, take_in
from stillroom.house.house import House

GROUNDS = {"spec": [("spec", "version")], "batch_event": [("batch", "happened_on"), ("batch",)]}
"""What a newer file replaces, and what a new edition of the same file does."""
SHOWN = {"spec": ("spec", "version", "note"), "batch_event": ("batch", "happened_on", "reason")}
WRONG = {"spec": "kind", "batch_event": "event"}
Row = dict[str, str]


@dataclass
class Intake:
    """What the model knows of one intake; `rows` landed, `waiting` does not."""

    file: str
    place: int
    rows: list[Row]
    waiting: dict[int, Row]
    corrects: int | None = None
    fixed_by: dict[int, int] = field(default_factory=dict)
    undone: bool = False


def row(rng: random.Random, table: str) -> Row:
    mark = str(rng.randrange(10**9))
    if table == "spec":
        made = good("spec", spec=rng.choice(["Ash", "ASH", "Bay"]), version=rng.choice("12"), note=mark)
    else:
        made = good("batch_event", batch=rng.choice("xXy"), happened_on=f"2026-03-0{rng.choice('345')}", reason=mark)
    return {name: str(cell) for name, cell in made.items()} | ({WRONG[table]: "?"} if rng.random() < 0.3 else {})


def on_ground(one: Row, ground: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(one[column].casefold() for column in ground)


class Model:
    """Every intake since the beginning, by number from 1."""

    def __init__(self, table: str) -> None:
        self.table, self.intakes = table, [Intake("", 0, [], {}, undone=True)]

    def standing(self) -> list[tuple[int, Intake]]:
        return [(number, one) for number, one in enumerate(self.intakes) if not one.undone]

    def land(self, file: str, rows: dict[int, Row], corrects: int | None = None) -> None:
        """A row that is wrong, or has the key of one before it in its file or a correction of that, is set aside."""
        among = [one for n, one in self.standing() if corrects is not None and corrects in (n, one.corrects)]
        keys = {on_ground(there, ("spec", "version")) for one in among for there in one.rows if self.table == "spec"}
        place = len(self.intakes) if corrects is None else self.intakes[corrects].place
        name = file if corrects is None else self.intakes[corrects].file
        found = Intake(name, place, [], {}, corrects)
        for number, one in rows.items():
            key = on_ground(one, ("spec", "version")) if self.table == "spec" else None
            if one[WRONG[self.table]] == "?" or key in keys:
                found.waiting[number] = one
            else:
                found.rows.append(one)
                keys |= {key} if key else set()
        self.intakes.append(found)

    def undo(self, number: int) -> None:
        gone = {number}
        for later, one in self.standing():
            fixed = {by for n in gone for by in self.intakes[n].fixed_by.values()}
            gone |= {later} if one.corrects in gone or later in fixed else set()
        for one in self.intakes:
            one.fixed_by = {n: by for n, by in one.fixed_by.items() if by not in gone}
        for n in gone:
            self.intakes[n].undone = True

    def in_force(self) -> Counter[tuple[str, ...]]:
        files = [one for _, one in self.standing()]
        ground, *edition = GROUNDS[self.table]
        counted: Counter[tuple[str, ...]] = Counter()
        for old in files:
            for one in old.rows:
                newer = [new for new in files if new.place > old.place]
                pairs = [(new, ground) for new in newer]
                pairs += [(new, wide) for wide in edition for new in newer if new.file == old.file]
                if not any(on_ground(one, g) in {on_ground(x, g) for x in new.rows} for new, g in pairs):
                    counted[tuple(one[column] for column in SHOWN[self.table])] += 1
        return counted


def corrected(rng: random.Random, house: House, model: Model, number: int, name: str) -> None:
    """Some of what waits of an intake is corrected and taken in."""
    one = model.intakes[number]
    out = house.folder / f"out-{name}"
    command("aside", "--intake", number, "--out", out, house=house)
    written = next(iter(out.glob("*.csv"))).read_text(encoding="utf-8")
    lines = list(csv.DictReader(io.StringIO(written)))
    chosen = {}
    for line, cells in enumerate(lines, start=2):
        if rng.random() < 0.7:
            cells.update(row(rng, model.table))
            chosen[line] = (int(cells["set aside row"]), dict(cells))
    take_in(house, put(house.folder, f"corrections/{name}.csv", csv_text(lines)))
    if chosen:
        one.fixed_by |= {was: len(model.intakes) for was, _ in chosen.values()}
        model.land("", {line: cells for line, (_, cells) in chosen.items()}, one.corrects or number)


@pytest.mark.parametrize("table", ["spec", "batch_event"])
@pytest.mark.parametrize("seed", range(2))
def test_any_sequence_leaves_in_force_what_the_naive_model_says(tmp_path: Path, table: str, seed: int) -> None:
    rng, model = random.Random(seed), Model(table)
    house = make_house(tmp_path / "house")
    if table == "batch_event":
        take_in(house, put(house.folder, "batch/b.csv", [good("batch", batch=label) for label in "xy"]))
        model.intakes.append(Intake("", 1, [], {}))
    before = len(model.intakes)
    for step in range(6):
        standing = [(n, one) for n, one in model.standing() if n >= before]
        waiting = [n for n, one in standing if one.waiting.keys() - one.fixed_by.keys() and not later(model, one)]
        chance = rng.random()
        if chance < 0.3 and waiting:
            corrected(rng, house, model, rng.choice(waiting), str(step))
        elif chance < 0.5 and standing:
            number = rng.choice(standing)[0]
            assert command("undo", number, house=house).code == 0
            model.undo(number)
        else:
            name, rows = f"{table}/{rng.choice('ab')}.csv", [row(rng, table) for _ in range(rng.randint(1, 4))]
            take_in(house, put(house.folder, name, rows))
            model.land(name, dict(enumerate(rows, start=2)))
        found = current(house, table, *SHOWN[table])
        assert Counter(tuple(map(str, one)) for one in found) == model.in_force()
    assert [one.undone_at is not None for one in books(house)] == [one.undone for one in model.intakes[1:]]


def later(model: Model, one: Intake) -> bool:
    """Whether a later edition of its file stands: what was set aside of it may then not be written out any more."""
    return any(other.file == one.file and other.place > one.place for _, other in model.standing())
