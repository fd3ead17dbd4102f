"""What plain books say beside their headings, and what they do not say."""

from __future__ import annotations

import polars as pl
import pytest

from house_builder import plugins
from stillroom.intake.book_rows import is_remark
from stillroom.looking.cells import cells_of
from stillroom.looking.guesses import Guess, guessed
from stillroom.looking.headings import fit, how_like
from stillroom.objects import Source

TASTED = {"Date": ["2026-04-14"] * 2, "Taster": ["JB", "KO"], "Sweet": ["5", "6"], "Sour": ["4", "5"]}
FINISHED = {
    "Made": ["2026-04-06", "2026-04-07"], "Prep": ["Gorse syrup", "Hay tea"], "Volume (l)": ["2", "3"],
    "Finished": ["2026-04-14", ""],
}  # fmt: skip


def guess(table: str, rows: dict[str, list[str]], called: str = "", **said: str) -> Guess:
    frame = pl.DataFrame(rows)
    found = {heading: cells_of(frame[heading]) for heading in rows if not heading.startswith("(")}
    source = Source(name="s", title="", tables=(table,))
    return guessed(fit(source, plugins().tables[table], found, said), frame, found, said, called)


def test_a_loss_under_a_heading_that_is_not_known_is_no_loss_of_the_whole_batch():
    rows = {"Date": ["2026-04-09", "2026-04-14"], "Prep": ["Gorse syrup", "Hay tea"], "Spillage": ["250 ml", "0.5 l"]}
    found = guess("batch_event", rows, "waste log")
    assert found.fit.columns["amount"] == ("Spillage",)
    assert found.constants["event"] == "poured away"


def test_days_called_after_what_happened_on_them_say_it_of_batches_that_were_made_on_others():
    found = guess("batch_event", FINISHED)
    assert found.constants == {"event": "used up"}
    assert found.fit.columns["happened_on"] == ("Finished",)
    assert "amount" not in found.fit.columns  # which was made
    assert found.only_with == ("happened_on",)


def test_days_called_after_another_thing_than_was_said_are_not_taken():
    assert guess("batch_event", FINISHED, event="poured away").fit.columns.get("happened_on") != ("Finished",)


@pytest.mark.parametrize("said", [{"(sheet)": "Scores"}, {"(sheet)": "Recipes 2"}, {"(title)": "April tasting"}])
def test_what_a_sheet_is_called_after_its_rows_is_no_drink(said):
    rows = {**{place: [text] * 2 for place, text in said.items()}, **TASTED}
    assert "spec" in guess("tasting", rows).fit.missing


def test_a_sheet_called_after_a_drink_is_that_drink():
    assert guess("tasting", {"(sheet)": ["Hazel Sour"] * 2, **TASTED}).fit.columns["spec"] == ("(sheet)",)


@pytest.mark.parametrize(
    ("cell", "remark"), [("Scale 1-9", True), ("Skala: 1 bis 9", True), ("Scala v2", False), ("Scala 2", False)]
)
def test_a_scale_is_no_name(cell, remark):
    assert is_remark(cell) == remark


def test_numbers_of_weeks_are_no_days():
    assert how_like("Shelf life (days)", "keeps_days") > 80
    assert how_like("Shelf life (weeks)", "keeps_days") == 0
