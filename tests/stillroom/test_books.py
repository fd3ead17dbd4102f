"""Invented books, told which table each fills: read right, asked about, or refused; never read wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from house_builder import HOUSE, SOURCES, current, make_house, plugins, put, take_in
from invented_books import BOOKS, Book
from stillroom.errors import FileRefused
from stillroom.house.settings import load_house
from stillroom.looking.look import look, write_settings

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
    try:
        seen = look(house, plugins(), path, table=table, answers=answers)
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


def _answers(book: Book) -> dict[str, str]:
    """What the keeper says of the table that is told; what kind the specs are is no question of their lines."""
    return {key: said for key, said in book.answers.items() if key != "kind" or book.table == "spec"}


@pytest.mark.parametrize("book", BOOKS, ids=lambda book: book.name)
def test_a_book_is_read_right_with_its_keepers_answers(book, tmp_path):
    found = tried(book, tmp_path, book.table, _answers(book))
    assert not found.wrong
    assert found.right == found.rows, found.said
    assert book.refused in found.said


def test_without_answers_most_is_read_and_nothing_wrong(tmp_path):
    """Of 67 books with 239 rows; what is open is asked, and counts for nothing.

    A book whose keeper is asked nothing is read right, as the test above shows: only the others are read once more.
    """
    asked = [book for book in BOOKS if _answers(book)]
    found = [tried(book, tmp_path / str(number), book.table, {}) for number, book in enumerate(asked)]
    assert [wrong for one in found for wrong in one.wrong] == []
    unasked = sum(len(book.truth[book.table]) for book in BOOKS if not _answers(book))
    assert sum(one.rows for one in found) + unasked == 239
    assert sum(one.right for one in found) + unasked >= 185
