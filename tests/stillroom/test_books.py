"""Invented books, told which table each fills: read right, asked about, or refused; never read wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from books_of_nine_houses import NINE_HOUSES
from books_of_other_houses import OTHER_HOUSES
from books_of_plain_bars import PLAIN_BARS
from books_of_strangers import STRANGERS
from books_typed_up import TYPED_UP
from house_builder import HOUSE, SOURCES, current, make_house, plugins, put, take_in
from invented_books import BOOKS
from kept_books import Book
from stillroom.errors import FileRefused
from stillroom.house.settings import load_house
from stillroom.looking.look import look
from stillroom.looking.settling import write_settings

pytestmark = pytest.mark.usefixtures("rows_alone")


@dataclass(frozen=True, kw_only=True)
class Tried:
    """What became of a book's rows."""

    right: int
    rows: int
    wrong: list[tuple[Any, ...]]
    """Rows that landed and are none of the truth."""
    said: str
    """Why nothing landed."""


def tried(book: Book, folder: Path, table: str, answers: Mapping[str, str]) -> Tried:
    """Look at a book, write the settings, take it in, and compare what landed with the truth."""
    truth = book.truth[table]
    columns = list(dict.fromkeys(name for row in truth for name in row))
    house = make_house(folder, settings=HOUSE + SOURCES)
    path = book.write(house.folder)
    for name, text in book.beside.items():
        put(house.folder, name, text)
    for told in [*(["batch"] if table == "batch_event" and "batch" in book.truth else []), table]:
        try:
            seen = look(house, plugins(), path, table=told, answers=answers)
        except FileRefused as refused:
            return Tried(right=0, rows=len(truth), wrong=[], said=str(refused))
        if seen.missing:
            asked = "; ".join(question.text for question in seen.questions)
            return Tried(right=0, rows=len(truth), wrong=[], said=asked)
        write_settings(house, plugins(), seen)
        house = load_house(house.folder, plugins())
    if table == "spec_line":
        specs = dict.fromkeys((row["spec"], row.get("version", 1)) for row in truth)
        put(
            house.folder,
            "spec/specs.csv",
            [{"spec": s, "version": v, "kind": "drink", "yield_amount": 1, "yield_unit": "serve"} for s, v in specs],
        )
    refused = [one.problem for one in take_in(house) if one.status == "refused"]
    assert not refused
    if not truth:
        assert not current(house, table, "row_number")
        return Tried(right=0, rows=0, wrong=[], said="")
    got = Counter(map(_plain, current(house, table, *columns)))
    right = Counter(_plain(row.get(name) for name in columns) for row in truth)
    wrong = got - right
    return Tried(right=(got & right).total(), rows=len(truth), wrong=list(wrong.elements()), said="")


def _plain(row: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(float(cell) if isinstance(cell, int | Decimal) else cell for cell in row)


PARTS = (BOOKS, NINE_HOUSES, OTHER_HOUSES, STRANGERS, TYPED_UP, PLAIN_BARS)
TOLD = [(book, table) for part in PARTS for book in part for table in book.truth]
"""Each book with a table that its reader is told it fills."""


@cache
def outcome(number: int, *, answered: bool, folder: Path) -> Tried:
    """What becomes of a book; of one that has no answers the same with and without."""
    book, table = TOLD[number]
    kind = table != "spec_line" or "kind" not in book.answers  # what kind the specs are is no question of their lines
    answers = {key: said for key, said in book.answers.items() if kind or key != "kind"}
    return tried(book, folder / f"{number} {answered}", table, answers if answered else {})


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("books")


@pytest.mark.parametrize("number", range(len(TOLD)), ids=lambda number: f"{TOLD[number][0].name}, {TOLD[number][1]}")
def test_a_book_is_read_right_with_its_keepers_answers(number, folder):
    found = outcome(number, answered=bool(TOLD[number][0].answers), folder=folder)
    book = TOLD[number][0]
    assert not found.wrong
    assert found.right == found.rows, found.said
    assert book.refused in found.said


def test_without_answers_most_is_read_and_nothing_wrong(folder):
    """Of 193 books in six parts; what is open is asked, and counts for nothing."""
    found = [outcome(number, answered=False, folder=folder) for number in range(len(TOLD))]
    assert [wrong for one in found for wrong in one.wrong] == []
    parts = [[one for one, (book, _) in zip(found, TOLD, strict=True) if book in part] for part in PARTS]
    assert [sum(one.rows for one in some) for some in parts] == [248, 135, 128, 146, 103, 41]
    right = [sum(one.right for one in some) for some in parts]
    assert right[0] >= 196
    assert right[1] >= 82
    assert right[2] >= 98
    assert right[3] >= 80
    assert right[4] >= 84
    assert right[5] >= 24
