"""Good files of every table, damaged at random and taken in: never a traceback, and every row accounted for.

`python tests/fuzzing.py 10000` damages ten thousand files of each table; a failure names its table and number, by which
it can be repeated.
"""

from __future__ import annotations

import gzip
import io
import json
import random
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import polars as pl

from house_builder import GOOD, PLUGINS, csv_text, good, make_house, plugins
from stillroom.house import House
from stillroom.intake.run import run

ROWS = 6
A_STORE = 100
"""Files that go into one store: a new one now and then keeps each intake quick."""
PIECES = (
    b"\0", b'"', b'""', b"'", b",", b";", b"\t", b"\n", b"\r", b"\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\xff", b"\xc3",
    b"1e999", b"-9223372036854775809", b"NaN", b"inf", b"0x10", b"=1+1", b"<b>", b"2026-02-30", b"9999-12-31",
    b"0000-00-00", b"\x1b[31m", b"\xe2\x80\xae", b"Total", b" ", b"\xc2\xa0", b"(12.50)", b"1,234.5",
    b"'; DROP TABLE sale",
)  # fmt: skip


def whole(table: str, rng: random.Random) -> tuple[str, bytes]:
    """A good file of a table, of one kind or another: its ending and its bytes."""
    rows = [good(table) for _ in range(ROWS)]
    for number, row in enumerate(rows):
        for column in ("sold_at", "made_on", "tasted_on", "happened_on"):
            if column in row:
                row[column] = str(row[column]).replace("-02", f"-{number + 2:02}", 1)
    kind = rng.choice(("csv", "csv", "csv", "csv", "gz", "jsonl", "parquet"))
    if kind == "jsonl":
        return kind, "\n".join(json.dumps(row) for row in rows).encode()
    if kind == "parquet":
        out = io.BytesIO()
        pl.DataFrame(rows).write_parquet(out)
        return kind, out.getvalue()
    text = csv_text(rows).encode()
    return ("csv.gz", gzip.compress(text)) if kind == "gz" else (kind, text)


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
    """How the intakes of that many damaged files ended; raises on the first that is not accounted for."""
    ended: Counter[str] = Counter()
    house: House | None = None
    for number in range(first, first + files):
        rng = random.Random(f"{table} {number}")
        if house is None or number % A_STORE == 0:
            shutil.rmtree(folder, ignore_errors=True)
            house = make_house(folder)
        ending, content = whole(table, rng)
        path = folder / f"{number}.{ending}"
        path.write_bytes(damaged(content, rng))
        try:
            (outcome,) = run(house, plugins(), [path], source=PLUGINS[table] if rng.random() < 0.2 else table)
        except Exception as error:
            raise AssertionError(f"damaged file {number} of table {table}: {type(error).__name__}: {error}") from error
        counted = outcome.rows_landed + outcome.rows_set_aside + outcome.rows_passed_over
        assert outcome.rows_read == counted, f"damaged file {number} of table {table}: {outcome}"
        assert outcome.problem or outcome.status == "landed"
        ended[outcome.status] += 1
        path.unlink()
    return ended


if __name__ == "__main__":
    for name in GOOD:
        with tempfile.TemporaryDirectory() as scratch:
            print(name, dict(take_in_damaged(name, int(sys.argv[1]), Path(scratch) / "house")), flush=True)
