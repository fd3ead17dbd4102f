"""A small house for tests: its settings, its files, and short ways to take in, to ask the store, to run a command."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import shutil
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from unittest.mock import patch

import typer

from stillroom import cli
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.intake.outcome import Outcome
from stillroom.intake.run import run
from stillroom.plugins.registry import Registry, load_registry
from stillroom.store import ledger, opening
from stillroom.store.ledger import Entry
from stillroom.store.working_copy import working_copy
from stillroom_schemas import TABLES

HOUSE = """\
[house]
name = "The Test Room"
currency = "EUR"
"""
PLUGINS = {
    "spec": "spec-book",
    "spec_line": "spec-book",
    "ingredient": "price-list",
    "till_match": "till-match",
    "sale": "till-export",
    "tasting": "tasting-sheet",
    "trial": "trial-sheet",
    "batch": "batch-book",
    "batch_event": "batch-book",
}
SOURCES = "".join(
    f'[[source]]\nname = "{table}"\nplugin = "{plugin}"\ntable = "{table}"\nfiles = ["{table}/*.csv"]\n'
    for table, plugin in PLUGINS.items()
)

GOOD: dict[str, dict[str, str]] = {
    "spec": {"spec": "Fig Sour", "version": "1", "kind": "drink", "yield_amount": "1", "yield_unit": "serve"},
    "spec_line": {
        "spec": "Fig Sour", "version": "1", "line": "1", "item": "gin", "amount": "50", "unit": "ml",
    },
    "ingredient": {"item": "gin", "pack_amount": "700", "pack_unit": "ml", "pack_cost": "21"},
    "till_match": {"till_item": "FIG SR", "spec": "Fig Sour", "serves": "1"},
    "sale": {"sold_at": "2026-03-02 20:00", "till_item": "Fig Sour", "quantity": "1", "net_amount": "9"},
    "tasting": {
        "session": "s1", "tasted_on": "2026-03-02", "panelist": "P1", "spec": "Fig Sour", "version": "1",
        "attribute": "liking", "score": "7",
    },
    "trial": {
        "session": "s1", "tasted_on": "2026-03-02", "panelist": "P1", "method": "triangle", "spec": "Fig Sour",
        "version_a": "1", "version_b": "2", "correct": "yes",
    },
    "batch": {
        "batch": "FC-1", "preparation": "Fig Cordial", "made_on": "2026-03-02", "made_amount": "650", "made_unit": "ml",
    },
    "batch_event": {"batch": "FC-1", "happened_on": "2026-03-03", "event": "spoiled"},
}  # fmt: skip
"""A row of every table that breaks no rule."""


def csv_text(rows: Iterable[Mapping[str, object]]) -> str:
    """Rows as CSV, under all the headings that any of them has."""
    rows = list(rows)
    headings = list(dict.fromkeys(heading for row in rows for heading in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, headings, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def good(table: str, **changed: object) -> dict[str, object]:
    """The good row of a table, with some cells changed."""
    return {**GOOD[table], **changed}


def make_house(folder: Path, settings: str = HOUSE + SOURCES, **files: str | bytes) -> House:
    """A house in `folder`; each of `files` is a table's name -> what its only file holds."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "stillroom.toml").write_text(settings, encoding="utf-8")
    for table, content in files.items():
        put(folder, f"{table}/{table}.csv", content)
    return load_house(folder, plugins())


def put(folder: Path, name: str, content: str | bytes | Iterable[Mapping[str, object]]) -> Path:
    """Write a file of the house."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    if not isinstance(content, str | bytes):
        content = csv_text(content)
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


@cache
def plugins() -> Registry:
    """The built-in plugins, found once."""
    return load_registry()


@cache
def empty_store() -> bytes:
    """A store in which nothing has landed: the same for every house."""
    with TemporaryDirectory() as folder, patch.object(opening, "working_copy", working_copy):
        house = make_house(Path(folder))
        with opening.writing(house, TABLES):
            pass
        return house.store_path.read_bytes()


@contextlib.contextmanager
def begun_copy(store: Path) -> Iterator[Path]:
    """`working_copy`, with an empty store to begin with where there is none."""
    with working_copy(store) as copy:
        if not copy.exists():
            copy.write_bytes(empty_store())
        yield copy


def copied(house: House, folder: Path) -> House:
    """The house once more, with its files and its store: to be changed."""
    shutil.copytree(house.folder, folder)
    return load_house(folder, plugins())


def take_in(house: House, *paths: Path, source: str | None = None) -> list[Outcome]:
    """Take files in; every outcome's rows must add up, as every ledger line's."""
    outcomes = list(run(house, plugins(), list(paths) or None, source))
    for o in outcomes:
        assert o.rows_read == o.rows_landed + o.rows_set_aside + o.rows_passed_over
    return outcomes


def ask(house: House, query: str) -> list[tuple[Any, ...]]:
    """The rows of a query to the store."""
    with opening.reading(house, TABLES) as con:
        return con.execute(query).fetchall()


def current(house: House, table: str, *columns: str) -> list[tuple[Any, ...]]:
    """Some columns of a table's rows in force, sorted."""
    names = ", ".join(f'"{column}"' for column in columns)
    return ask(house, f'SELECT {names} FROM "current_{table}" ORDER BY ALL')


def books(house: House) -> list[Entry]:
    """The ledger."""
    with opening.reading(house, TABLES) as con:
        return ledger.entries(con)


def reasons(house: House) -> list[tuple[int, str | None, str, str | None]]:
    """(row number, column, problem, value) of all that is set aside and open, of files in force."""
    return ask(
        house,
        'SELECT s.row_number, s."column", s.problem, s."value" FROM set_aside AS s '
        "SEMI JOIN standing USING (intake_id) ORDER BY ALL",
    )


@dataclass(frozen=True)
class Said:
    """What a command said, and its exit code."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@cache
def command_line() -> Any:
    """All commands with their options, gathered once."""
    return typer.main.get_command(cli.app())


def command(*arguments: object, house: House | Path | None = None) -> Said:
    """Run the command line in this process."""
    folder = house.folder if isinstance(house, House) else house
    words = ["stillroom", *map(str, arguments), *(["--house", str(folder)] if folder else [])]
    out, err, line = io.StringIO(), io.StringIO(), command_line()
    before, sys.argv = sys.argv, words
    try:
        with (
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
            patch.object(typer.main, "get_command", lambda app: line),
        ):
            code = cli.answered()
    finally:
        sys.argv = before
    assert "Traceback" not in err.getvalue()
    return Said(code, out.getvalue(), err.getvalue())
