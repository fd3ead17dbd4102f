"""What the terminal shows: 80 columns, colour only where it is wanted, nothing that a terminal would obey."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from sample_document import one_report
from sample_review import sample_review
from stillroom.answers.review.sheet_objects import BatchMark, Course, Mark, Note, Sheet, UserRow, VersionsTable
from stillroom_reports.terminal import WIDTH, season_text, sheet_text

FIRST = date(2026, 3, 2)
SHEET = Sheet(
    name="Pear cordial",
    kind="preparation",
    aliases=(),
    says=": make 755 ml at a time.",
    facts=("version 2 since 6 Apr", "keeps 5 days in the fridge", "contains celery"),
    careful=(("Allergens", "Contains celery, as the price list states. Follow your local code."),),
    notes=(Note(label="Poured away", value="103", unit="EUR", small="19 l of 45 l, 45 %", is_loss=True),),
    course=Course(
        first=FIRST,
        last=FIRST + timedelta(days=90),
        unit="ml",
        label="On hand, day by day",
        line=tuple((FIRST + timedelta(days=n), float(n % 7)) for n in range(91)),
        marks=(Mark(day=date(2026, 4, 6), text="version 2"),),
    ),
    parts=(),
    users=(UserRow(name="Drink 1", takes="20 ml a serve", serves=500.0, share=0.75),),
    versions=VersionsTable(
        versions=("version 1", "version 2, in service"), rows=(("pear juice", ("900 g", "650 g"), True),)
    ),
    batches=(
        BatchMark(
            batch="PC-1", made_on=FIRST, made=2480, used=1100, lost=1380, on_hand=0, unit="ml",
            use_by=None, gone_on=None, brix=None, ph=None, source="batches/batches.csv, row 40",
        ),
    ),
)  # fmt: skip


def test_the_season_fits_80_columns_and_has_the_three_lists():
    said = season_text(one_report(), sample_review(drinks=60, name="A drink whose name has some forty letters {}"))
    assert max(map(len, said.splitlines())) <= WIDTH
    for words in ("EUR 20 500 sold", "Next making", "This week", "To mend in the data", "stillroom match", "40 more"):
        assert words in said


def test_the_money_of_a_list_stands_at_the_right_edge():
    said = season_text(one_report(), sample_review())
    assert next(line for line in said.splitlines() if "act 0" in line).endswith("EUR 900")


def test_a_sheet_fits_80_columns_and_marks_what_changed():
    said = sheet_text(SHEET, "EUR")
    assert max(map(len, said.splitlines())) <= WIDTH
    assert "* pear juice" in said
    assert "batches/batches.csv, row 40" in said
    assert "6 Apr: version 2" in said
    assert "Contains celery" in said


@pytest.mark.parametrize("colour", [True, False])
def test_colour_only_where_it_is_wanted(colour):
    texts = season_text(one_report(), sample_review(), colour=colour), sheet_text(SHEET, "EUR", colour=colour)
    assert all(("\x1b[" in text) is colour for text in texts)


def test_no_name_speaks_to_the_terminal():
    evil = replace(SHEET, name="Pear\x1b[2Jcordial", says="")
    assert "\x1b" not in sheet_text(evil, "EUR")
    assert "\x1b" not in season_text(one_report(), sample_review(name="\x1b[2J{}"))
