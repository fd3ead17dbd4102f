"""What the terminal shows: 80 columns, colour only where it is wanted, nothing that a terminal would obey."""

from dataclasses import replace

import pytest

from sample_document import one_report
from sample_review import sample_drink, sample_preparation, sample_review
from stillroom_reports.terminal import WIDTH, season_text, sheet_text

SHEET = sample_preparation()


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
    assert "batches/batches.csv, row 11" in said
    assert "6 Apr: version 2" in said
    assert "Contains celery" in said
    assert "1.2 l: some lost 20 times in 100, 43 ml on average; short hardly ever (costs" in said
    drink = sheet_text(sample_drink("Drink 1"), "EUR")
    assert "* Pear cordial" in drink
    assert "8.5 % of the serves on its days (7.5 to 9.5; well from 5.0 %)" in drink
    assert "Price 5 % higher: −86 to +250 (assumed)" in drink


@pytest.mark.parametrize("colour", [True, False])
def test_colour_only_where_it_is_wanted(colour):
    texts = season_text(one_report(), sample_review(), colour=colour), sheet_text(SHEET, "EUR", colour=colour)
    assert all(("\x1b[" in text) is colour for text in texts)


def test_no_name_speaks_to_the_terminal():
    evil = replace(SHEET, name="Pear\x1b[2Jcordial", says="")
    assert "\x1b" not in sheet_text(evil, "EUR")
    assert "\x1b" not in season_text(one_report(), sample_review(name="\x1b[2J{}"))
