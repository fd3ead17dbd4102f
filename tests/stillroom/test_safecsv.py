import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillroom.safecsv import as_rows, csv_text, neutralised, restored

# OWASP ASVS 5.0, requirement 1.2.10: = + - @, tab and null at the start of a field.
DANGEROUS = (
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\x00=1",
    "\r=1",
    "\n=1",
    "＝1",
    "-2+3 cmd|' /C calc'!A0",
    "-",
    "=",
)
HARMLESS = ("", "Lemon", "-2", "+3.5", "-0,75", "1e-3", "-1.5E+10", "'Lemon'", "Pear & Co", "a=b", "‑5 %")


@pytest.mark.parametrize("text", DANGEROUS)
def test_a_formula_gets_an_apostrophe(text):
    assert neutralised(text) == f"'{text}"


@pytest.mark.parametrize("text", HARMLESS)
def test_plain_texts_and_numbers_stay_as_they_are(text):
    assert neutralised(text) == text
    assert restored(text) == text


@given(st.text(alphabet=st.sampled_from("'=+-@\t\r\n\x00＝5.e a"), max_size=8) | st.text())
def test_whatever_is_neutralised_can_be_restored(text):
    assert restored(neutralised(text)) == text


@given(st.text(alphabet=st.sampled_from("'=+-@\t\r\n\x00＝5.e a"), max_size=8))
def test_nothing_neutralised_starts_like_a_formula_unless_it_is_a_number(text):
    safe = neutralised(text)
    if safe[:1] in tuple("=+-@\t\r\n\x00＝"):
        float(safe)


def test_a_cell_survives_a_csv_file():
    texts = [*DANGEROUS, *HARMLESS]
    file = io.StringIO(newline="")
    csv.writer(file).writerows([neutralised(text)] for text in texts)
    file.seek(0)
    assert [restored(row[0]) if row else "" for row in csv.reader(file)] == texts


@given(st.lists(st.lists(st.text(alphabet=st.sampled_from("=\r\n\",;'a "), max_size=5), min_size=2, max_size=2)))
def test_rows_survive_a_csv_file(rows):
    assert list(csv.reader(io.StringIO(as_rows(rows), newline=""))) == rows


def test_no_formula_begins_a_row_after_a_carriage_return():
    assert csv_text(["item"], [["fig\r=1+1"]]) == 'item\n"fig\r=1+1"\n'
