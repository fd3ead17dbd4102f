"""Good files of every table, damaged at random and taken in: never a traceback, and every row accounted for.

`python tests/fuzzing.py 10000` damages ten thousand files of each table, or only of the tables named after the number,
as many settings and decisions, and a hundredth as many sequences of commands, and of what happens to files, beside a
model; a failure names its table and numbers, by which it can be repeated.
"""

from __future__ import annotations

import gzip
import io
import json
import os
import random
import sys
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import polars as pl

from house_builder import GOOD, HOUSE, PLUGINS, SOURCES, command, csv_text, good, make_house, plugins
from sequences import run_beside_the_model
from stillroom.errors import DecisionsError, SettingsError
from stillroom.house.decisions import DECISIONS_NAME, Decisions, Edition
from stillroom.house.settings import house_of
from stillroom.intake import planning
from stillroom.intake.run import run
from stillroom.verifying import verify

ROWS = 6
A_STORE = 50
"""Files that are taken in together, into a store of their own: to open and to close a store takes longest."""
OURS = "fault in Stillroom"
VERIFIED = 10
"""Of how many stores one is verified, which takes as long again."""
PIECES = (
    b"\0", b'"', b'""', b"'", b",", b";", b"\t", b"\n", b"\r", b"\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\xff", b"\xc3",
    b"1e999", b"-9223372036854775809", b"NaN", b"inf", b"0x10", b"=1+1", b"<b>", b"2026-02-30", b"9999-12-31",
    b"0000-00-00", b"\x1b[31m", b"\xe2\x80\xae", b"Total", b" ", b"\xc2\xa0", b"(12.50)", b"1,234.5",
    b"'; DROP TABLE sale", b"9" * 5000, b"9999-12-31 23:00-12:00", b"\\ud800", b"\\udc00", b"\\u0000", b"\xc2\x9b2J",
)  # fmt: skip


def a_file(table: str, rng: random.Random) -> tuple[str, bytes]:
    """A file of a table, of one kind or another, with damage to its cells, its text or its bytes: ending and bytes."""
    rows = [good(table) for _ in range(ROWS)]
    for number, row in enumerate(rows):
        for column in ("sold_at", "made_on", "tasted_on", "happened_on"):
            if column in row:
                row[column] = str(row[column]).replace("-02", f"-{number + 2:02}", 1)
    ending = rng.choice(("csv", "csv", "csv.gz", "jsonl", "parquet", "xlsx"))
    inside = rng.random() < 0.7
    if inside and ending in ("jsonl", "parquet", "xlsx"):
        for _ in range(rng.randint(1, 5)):
            row = rng.choice(rows)
            row[rng.choice([*row])] = rng.choice(PIECES).decode("utf-8", "replace") * rng.choice((1, 1, 1, 50))
    content = _written(ending, rows)
    if ending == "csv.gz" and inside:
        return ending, gzip.compress(damaged(content, rng))
    if ending == "csv.gz":
        content = gzip.compress(content)
    if ending == "xlsx" and not inside and rng.random() < 0.7:
        return ending, _with_a_damaged_part(content, rng)
    return ending, content if inside and ending != "csv" else damaged(content, rng)


def _with_a_damaged_part(content: bytes, rng: random.Random) -> bytes:
    """A workbook that is whole as a zip, with damage to one of its parts."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as before, zipfile.ZipFile(out, "w") as after:
        hit = rng.choice([name for name in before.namelist() if name.startswith("xl/")])
        for name in before.namelist():
            part = before.read(name)
            after.writestr(name, damaged(part, rng) if name == hit else part)
    return out.getvalue()


def _written(ending: str, rows: list[dict[str, object]]) -> bytes:
    if ending == "jsonl":
        return "\n".join(json.dumps(row) for row in rows).encode()
    out = io.BytesIO()
    if ending == "parquet":
        photo = pl.lit(b"\xff\x00").alias("photo")  # a column that nobody asks for, of bytes that are no text
        pl.DataFrame(rows).with_columns(photo).write_parquet(out)
    elif ending == "xlsx":
        pl.DataFrame(rows).write_excel(out)
    else:
        out.write(csv_text(rows).encode())
    return out.getvalue()


def damaged(content: bytes, rng: random.Random) -> bytes:
    """A few random mutations."""
    for _ in range(rng.randint(1, 5)):
        content = rng.choice(MUTATIONS)(content, rng)
    return content


def _flip(content: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(content)) if content else 0
    return content[:at] + bytes([rng.randrange(256)]) + content[at + 1 :]


def _insert(content: bytes, rng: random.Random) -> bytes:
    at = rng.randint(0, len(content))
    return content[:at] + rng.choice(PIECES) * rng.choice((1, 1, 1, 50)) + content[at:]


def _cut(content: bytes, rng: random.Random) -> bytes:
    start, end = sorted(rng.randint(0, len(content)) for _ in range(2))
    return content[:start] + content[end:] if rng.random() < 0.7 else content[:start]


def _repeat(content: bytes, rng: random.Random) -> bytes:
    start, end = sorted(rng.randint(0, len(content)) for _ in range(2))
    return content[:end] + content[start:]


def _swap_cells(content: bytes, rng: random.Random) -> bytes:
    lines = [line.split(b",") for line in content.split(b"\n")]
    for line in lines:
        rng.shuffle(line)
    return b"\n".join(b",".join(line) for line in lines)


def _other_cell(content: bytes, rng: random.Random) -> bytes:
    lines = [line.split(b",") for line in content.split(b"\n")]
    line = rng.choice(lines)
    line[rng.randrange(len(line))] = rng.choice(PIECES)
    return b"\n".join(b",".join(line) for line in lines)


MUTATIONS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    _flip, _insert, _cut, _repeat, _swap_cells, _other_cell, _other_cell,
)  # fmt: skip


def take_in_damaged(table: str, files: int, folder: Path, first: int = 0) -> Counter[str]:
    """How the intakes of that many damaged files ended; raises where one fails or its rows are not accounted for."""
    ended: Counter[str] = Counter()
    for start in range(first, first + files, A_STORE):
        numbers = range(start, min(start + A_STORE, first + files))
        with tempfile.TemporaryDirectory(dir=folder) as scratch:
            try:
                with _nothing_said():
                    ended += _store_of(table, numbers, Path(scratch))
            except Exception as error:
                where = f"damaged files {numbers[0]} to {numbers[-1]} of table {table}"
                raise AssertionError(f"{where}: {type(error).__name__}: {error}") from error
    return ended


@contextmanager
def _nothing_said() -> Iterator[None]:
    """A library that panics says so on standard error before it raises, whoever catches it: a user would see that."""
    with tempfile.TemporaryFile() as said:
        kept = os.dup(2)
        os.dup2(said.fileno(), 2)
        try:
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        said.seek(0)
        text = said.read().decode(errors="replace")
    assert "panicked" not in text, text


def _store_of(table: str, numbers: range, folder: Path) -> Counter[str]:
    """Take in one store's worth of damaged files; of some stores, verify that a new one would be the same."""
    store = numbers[0] // A_STORE
    house = make_house(folder)
    paths = []
    for number in numbers:
        ending, content = a_file(table, random.Random(f"{table} {number}"))
        paths.append(folder / f"{number}.{ending}")
        paths[-1].write_bytes(content)
    # Where the settings name no table, the plugin has to find out which it is.
    source = PLUGINS[table] if store % 5 == 4 else table
    outcomes = list(run(house, plugins(), paths, source=source))
    assert len(outcomes) == len(paths)
    for outcome in outcomes:
        assert outcome.rows_read == outcome.rows_landed + outcome.rows_set_aside + outcome.rows_passed_over, outcome
        assert outcome.problem or outcome.status == "landed", outcome
        assert OURS not in outcome.problem, outcome
    if store % VERIFIED == 0:
        verdict = verify(house, plugins(), lambda name, done, about: None)
        assert verdict.agrees, verdict.differences
    return Counter(outcome.status for outcome in outcomes)


# Settings ----------------------------------------------------------------------------------------------------

WHOLE = f"""{HOUSE}time_zone = "Europe/Lisbon"
day_starts_at = "06:00"
venues = ["Bar", "Room"]
plugin_seconds = 60
[[season]]
name = "Spring"
from = 2026-03-01
to = 2026-05-31
{SOURCES}encoding = "utf-8"
date_format = "%d/%m/%Y"
tax_pct = 20.0
fill_down = ["batch"]
columns = {{ batch = ["Batch", "No"] }}
[report.season]
[report.prep-list]
"""
ODD_SETTINGS = (
    "''", '""', "0", "-1", "1e400", "nan", "true", "[]", "{}", "[[]]", "2026-02-30", "1979-05-27T07:32:00Z",
    "'\\u0000'", '"\\u0000"', '"\\ud800"', '"../x"', '"/etc/passwd"', '"**"', '"[a-"', '"%"', '"%Q"', "9" * 400,
    "9" * 5000, "[" * 5000, "'.'",
    f"'{'x' * 5000}'",
)  # fmt: skip


def settings_refused(number: int, folder: Path) -> bool:
    """Damage one text of settings and read it: a house, or a complaint in one line that names the file."""
    rng = random.Random(f"settings {number}")
    lines = WHOLE.splitlines()
    for _ in range(rng.randint(1, 4)):
        place = rng.randrange(len(lines))
        name, equals, _ = lines[place].partition("=")
        if equals and rng.random() < 0.6:
            lines[place] = f"{name}= {rng.choice(ODD_SETTINGS)}"
        else:
            lines[place] = damaged(lines[place].encode(), rng).decode("utf-8", "replace")
    text = "\n".join(lines)
    said = ""
    try:
        planning.named_by_settings(house_of(text, folder, plugins()))
    except SettingsError as complaint:
        said = str(complaint)
    except Exception as error:
        raise AssertionError(f"settings {number}: {type(error).__name__}: {error}\n{text}") from error
    assert "\n" not in said, f"settings {number}: {said}"
    return bool(said)


# Decisions ---------------------------------------------------------------------------------------------------

_OF = {"day": "2026-03-02", "source": "sale", "file": "sale/a.csv", "content": "1"}
DECIDED: tuple[dict[str, object], ...] = (
    {"kind": "taken", **_OF, "reading": "r"},
    {"kind": "renamed", **_OF, "file": "sale/b.csv", "reading": "r", "was_source": "sale", "was": "sale/a.csv"},
    {"kind": "by hand", "day": "2026-03-02", "source": "sale", "plugin": "till-export", "file": "x.csv"},
    {"kind": "corrected", **_OF, "rows": {"2": {"quantity": "1"}}},
    {"kind": "withdrawn", **_OF, "rows": [2]},
    {"kind": "undone", **_OF},
    {"kind": "redone", **_OF},
    {"kind": "confirmed", **_OF, "rows": [{"quantity": "1"}]},
    {"kind": "gone", **_OF},
)
ODD_VALUES = (
    None, True, -1, 1.5, float("nan"), "", "\ud800", "x" * 5000, "2026-02-30", [], {}, ["2"], [None], [[]],
    {"x": {}}, {"2": 1}, {"2": {"quantity": 1}}, {"9" * 5000: {}},
)  # fmt: skip


def decisions_refused(number: int, folder: Path) -> bool:
    """Damage some decisions and read them: they are understood, or a complaint in one line names the file."""
    rng = random.Random(f"decisions {number}")
    decided = [dict(one) for one in DECIDED]
    for _ in range(rng.randint(0, 2)):
        one = rng.choice(decided)
        one[rng.choice([*one])] = rng.choice(ODD_VALUES)
    lines = [json.dumps(one).encode() for one in decided]
    if rng.random() < 0.5:
        place = rng.randrange(len(lines))
        lines[place] = rng.choice((damaged(lines[place], rng), lines[place] * 2, b"[" * 5000))
    path = folder / DECISIONS_NAME
    path.write_bytes(b"\n".join(lines))
    said = ""
    try:
        decisions = Decisions.load(folder)
        decisions.add("taken", Edition("sale", "sale/c.csv", "2"), reading="r")
        decisions.save()
        Decisions.load(folder)
    except DecisionsError as complaint:
        said = str(complaint)
    except Exception as error:
        raise AssertionError(f"decisions {number}: {type(error).__name__}: {error}") from error
    assert said.count("\n") == 0, f"decisions {number}: {said}"
    assert not said or str(path) in said, f"decisions {number}: {said}"
    return bool(said)


# Sequences ---------------------------------------------------------------------------------------------------


def run_sequence(number: int, folder: Path, steps: int = 6) -> Counter[str]:
    """Commands in a random order on a house whose files come, change, go and are damaged; how they ended.

    None ends in a fault, and at the end a store made anew says the same.
    """
    rng, ended = random.Random(f"sequence {number}"), Counter[str]()
    house = make_house(folder)
    for step in range(steps):
        for _ in range(rng.randint(1, 3)):
            _touch(rng, folder, f"sequence {number} {step}")
        there = [path.relative_to(folder).as_posix() for path in folder.glob("*/*")] or ["sale/none.csv"]
        words = rng.choice((
            ("intake",), ("intake",), ("undo", rng.choice(there)), ("redo", rng.choice(there)), ("gone", there[0]),
            ("aside", "--out", str(folder.parent / f"aside {number} {step}")), ("ledger", "--json"), ("match",),
        ))  # fmt: skip
        said = command(*words, house=house)
        assert said.code in (0, 1, 2), (number, step, words, said)
        assert OURS not in said.err, (number, step, words, said.err)
        ended[words[0]] += 1
    command("intake", house=house)
    said = command("verify", house=house)
    lost = "keep each export under a name of its own" in said.out  # a file was written over, and may be missed
    assert said.code == 0 or lost or "is gone since" in said.out, (number, said)
    return ended


def _touch(rng: random.Random, folder: Path, name: str) -> None:
    """Let a file come, change, be damaged, be renamed or go."""
    table = rng.choice([*GOOD])
    path = folder / table / f"{rng.choice('ab')}.csv"
    path.parent.mkdir(exist_ok=True)
    chance = rng.random()
    if chance < 0.2 and path.exists():
        path.unlink()
    elif chance < 0.3 and path.exists():
        path.rename(path.with_name(f"{rng.choice('cd')}.csv"))
    elif chance < 0.6:
        path.write_bytes(a_file(table, random.Random(name))[1])
    else:
        path.write_text(csv_text(good(table) for _ in range(rng.randint(0, 3))), encoding="utf-8")


if __name__ == "__main__":
    many = int(sys.argv[1])
    with tempfile.TemporaryDirectory() as scratch:
        print("settings", sum(settings_refused(n, Path(scratch)) for n in range(many)), "refused", flush=True)
        print("decisions", sum(decisions_refused(n, Path(scratch)) for n in range(many)), "refused", flush=True)
    for n in range(many // 100):
        with tempfile.TemporaryDirectory() as scratch, _nothing_said():
            run_sequence(n, Path(scratch) / "house")
            run_beside_the_model(n, Path(scratch) / "beside", ("spec", "batch_event")[n % 2], kept=n % 4 < 2, steps=20)
    for name in sys.argv[2:] or GOOD:
        with tempfile.TemporaryDirectory() as scratch:
            print(name, dict(take_in_damaged(name, int(sys.argv[1]), Path(scratch))), flush=True)
