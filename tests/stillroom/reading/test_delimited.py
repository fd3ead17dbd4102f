"""Reading delimited text: row numbers, odd marks, refusals; the fast way equals the slow one.

RFC 4180 (read from memory) is the standard for CSV: quotes enclose a whole cell, a quote inside is doubled, a line's
end inside quotes belongs to the cell. Python's csv module, in strict mode, is the reference reader.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading import delimited, looks, read_batches, read_headings, records


def file(tmp_path: Path, content: bytes | str, **how: object) -> SourceFile:
    path = tmp_path / "file.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return SourceFile(path=path, name="file.csv", **how)  # type: ignore[arg-type]


def rows(source: SourceFile) -> list[tuple[int, ...]]:
    """(row number, cells...) of every row that could be taken apart."""
    found = []
    for batch in read_batches(source):
        found += [
            (number, *row) for number, row in zip(batch.row_numbers, batch.rows.fill_null("").rows(), strict=True)
        ]
    return found


def malformed(source: SourceFile) -> list[tuple[int, str]]:
    return [(one.row_number, one.problem) for batch in read_batches(source) for one in batch.malformed]


def counts(source: SourceFile) -> tuple[int, int, int]:
    batches = list(read_batches(source))
    return (
        sum(b.rows.height for b in batches),
        sum(len(b.malformed) for b in batches),
        sum(b.passed_over for b in batches),
    )


# Row numbers -------------------------------------------------------------------------------------------


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path):
    assert rows(file(tmp_path, "a,b\n1,2\n3,4\n")) == [(2, "1", "2"), (3, "3", "4")]


def test_a_quoted_newline_is_part_of_its_row(tmp_path):
    source = file(tmp_path, 'a,b\n"one\ntwo",2\n3,4\n')
    assert rows(source) == [(2, "one\ntwo", "2"), (3, "3", "4")]


def test_blank_lines_are_counted_and_passed_over(tmp_path):
    source = file(tmp_path, "a,b\n\n1,2\n , \n\n3,4\n\n")
    assert rows(source) == [(3, "1", "2"), (6, "3", "4")]
    assert counts(source) == (2, 0, 4)


def test_a_blank_line_inside_quotes_is_no_row(tmp_path):
    assert rows(file(tmp_path, 'a,b\n"x\n\ny",2\n3,4\n')) == [(2, "x\n\ny", "2"), (3, "3", "4")]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_every_line_ending_is_read(tmp_path, ending):
    assert rows(file(tmp_path, ending.join(["a,b", "1,2", "3,4", ""]))) == [(2, "1", "2"), (3, "3", "4")]


def test_the_last_line_needs_no_end(tmp_path):
    assert rows(file(tmp_path, "a,b\r\n1,2\r\n3,4")) == [(2, "1", "2"), (3, "3", "4")]


def test_the_mark_with_which_old_systems_end_a_text_is_no_row(tmp_path):
    assert counts(file(tmp_path, "a,b\r\n1,2\r\n\x1a")) == (1, 0, 0)


def test_a_byte_order_mark_is_no_part_of_the_first_heading(tmp_path):
    assert read_headings(file(tmp_path, b"\xef\xbb\xbfa,b\n1,2\n")) == ["a", "b"]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_known_by_its_byte_order_mark(tmp_path, encoding):
    mark = "" if encoding == "utf-16" else "\ufeff"
    assert rows(file(tmp_path, (mark + "a,b\nsirop d'été,2\n").encode(encoding))) == [(2, "sirop d'été", "2")]


def test_another_encoding_is_read_as_the_settings_say(tmp_path):
    assert rows(file(tmp_path, "a,b\ncrème,2\n".encode("cp1252"), encoding="cp1252")) == [(2, "crème", "2")]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found_from_the_headings(tmp_path, separator):
    text = "\n".join(separator.join(cells) for cells in (["a", "b"], ["1", "2"])) + "\n"
    assert rows(file(tmp_path, text, looked_for=frozenset({"a", "b"}))) == [(2, "1", "2")]


# Odd rows ----------------------------------------------------------------------------------------------


def test_ragged_rows_are_malformed_and_their_neighbours_are_not(tmp_path):
    source = file(tmp_path, "a,b\n1,2\n3\n4,5,6\n7,8\n")
    assert rows(source) == [(2, "1", "2"), (5, "7", "8")]
    assert malformed(source) == [
        (3, "the row has 1 cells where the headings are 2"),
        (4, "the row has 3 cells where the headings are 2"),
    ]


def test_empty_cells_beyond_the_headings_do_no_harm(tmp_path):
    assert rows(file(tmp_path, "a,b\n1,2,,\n3,4\n")) == [(2, "1", "2"), (3, "3", "4")]


def test_an_inch_mark_is_a_character_like_any_other(tmp_path):
    source = file(tmp_path, 'a,b\n5" coupe,1\n7" flute,2\nplain,3\n')
    assert rows(source) == [(2, '5" coupe', "1"), (3, '7" flute', "2"), (4, "plain", "3")]


def test_two_inch_marks_in_a_single_column_stay_two_rows(tmp_path):
    assert rows(file(tmp_path, 'a\n5"\n7"\n')) == [(2, '5"'), (3, '7"')]


def test_a_quote_that_never_closes_costs_its_own_line_only(tmp_path):
    source = file(tmp_path, 'a,b\n1,2\n"3,4\n5,6\n7,8\n')
    assert rows(source) == [(2, "1", "2"), (4, "5", "6"), (5, "7", "8")]
    assert malformed(source) == [(3, "the row has a quotation mark that never closes")]


@pytest.mark.parametrize("cell", [r'"Fig \"large\""', '"Fig "large""', '"Fig "large" one"', '""Fig""'])
def test_a_quote_inside_quotes_that_is_not_doubled_is_malformed(tmp_path, cell):
    source = file(tmp_path, f"a,b\n{cell},2\n3,4\n")
    assert rows(source) == [(3, "3", "4")]
    assert [number for number, _ in malformed(source)] == [2]


def test_a_quoted_cell_may_stand_after_a_space(tmp_path):
    source = file(tmp_path, '"a", "b"\n1, "Fig, large"\n2,  plain\n')
    assert read_headings(source) == ["a", "b"]
    assert trimmed(rows(source)) == [("2", "1", "Fig, large"), ("3", "2", "plain")]


def test_text_after_a_closing_quote_is_malformed(tmp_path):
    source = file(tmp_path, 'a,b\n"1"x,2\n3,4\n')
    assert rows(source) == [(3, "3", "4")]
    [(number, problem)] = malformed(source)
    assert number == 2
    assert problem.startswith("the row cannot be taken apart into cells")


# Refusals ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (b"\n \n\n", "holds no row of headings"),
        (b"a,b\n1,\x002\n", "NUL bytes"),
        (b"%PDF-1.7\n", "a PDF document"),
        (b"a,b,A\n1,2,3\n", "the heading 'A' stands twice (columns 1 and 3)"),
        ("a,b\ncrème,2\n".encode("cp1252"), "row 2 is not UTF-8 (byte 0xE8)"),
    ],
)
def test_what_is_no_table_is_refused_in_words(tmp_path, content, says):
    with pytest.raises(FileRefused) as refused:
        list(read_batches(file(tmp_path, content)))
    assert says in str(refused.value)
    assert str(refused.value).startswith("file.csv: ")


def test_a_missing_file_and_a_folder_are_refused_in_words(tmp_path):
    with pytest.raises(FileRefused, match="there is no such file"):
        read_headings(SourceFile(path=tmp_path / "none.csv", name="none.csv"))
    with pytest.raises(FileRefused, match="is a folder"):
        read_headings(SourceFile(path=tmp_path, name="folder"))


def test_text_that_is_not_in_the_encoding_named_is_refused(tmp_path):
    with pytest.raises(FileRefused, match="is not utf-16"):
        list(read_batches(file(tmp_path, b"\xff\xfea\x00,\x00b\x00\n\x00x", encoding="utf-16")))


def trimmed(found: list[tuple[object, ...]]) -> list[tuple[str, ...]]:
    """Rows without the spaces at the ends of cells, which mean nothing: casting drops them."""
    return [tuple(str(cell).strip(" ") for cell in row) for row in found]


# The fast way and the slow way ---------------------------------------------------------------------------

TROUBLE = st.text(alphabet=st.sampled_from('ab1""",,\\;\n\n\r é\u0301\u2003\t'), max_size=40)
SOURCE = SourceFile(path=Path("x"), name="x", separator=",")


def apart(text: str, width: int) -> records.Mended:
    """Every line of a text taken apart record by record."""
    ends, _ = looks.odd_lines(text.encode(), ord(","), width)
    return records.mended(SOURCE, text.encode(), width, 2, ends, np.arange(len(ends)))


def cells(mended: records.Mended) -> list[tuple[str, ...]]:
    return [tuple(row) for row in csv.reader(io.StringIO(mended.text.decode(), newline=""))]


@given(TROUBLE, st.integers(1, 3), st.sampled_from([0, 40]))
@example("1\n,,", 2, 0)
@example(",\n,,,", 3, 40)
def test_what_is_parsed_at_once_equals_what_is_parsed_row_by_row(text, width, whole):
    """Alone, and among whole rows, where a few that end early are looked at by themselves."""
    text = (",".join(["1"] * width) + "\n") * whole + text
    batch, read = delimited._parse_piece(SOURCE, text.encode(), [f"h{place}" for place in range(width)], 2)
    slow = apart(text, width)
    found = batch.rows.with_columns(pl.all().fill_null(""))
    assert (trimmed(found.rows()), read) == (trimmed(cells(slow)), slow.count)
    assert batch.row_numbers.to_list() == slow.row_numbers.to_list()
    assert (batch.malformed, batch.passed_over) == (slow.malformed, slow.passed_over)


@given(TROUBLE, st.integers(1, 3), st.data())
def test_a_line_that_is_found_plain_is_a_record_of_its_own(text, width, data):
    """Whichever lines besides the odd ones are taken apart, the rows are the same."""
    ends, odd = looks.odd_lines(text.encode(), ord(","), width)
    more = data.draw(st.sets(st.integers(0, max(len(ends) - 1, 0)))) if len(ends) else set()
    chosen = np.array(sorted({*odd.tolist(), *more}), dtype=np.int64)
    some, all_of_them = records.mended(SOURCE, text.encode(), width, 2, ends, chosen), apart(text, width)
    filled = [row for row in cells(some) if any(cell.strip() for cell in row)]  # others are passed over later
    assert trimmed(filled) == trimmed(cells(all_of_them))
    assert (some.malformed, some.count) == (all_of_them.malformed, all_of_them.count)


def test_an_odd_line_costs_its_neighbours_nothing():
    lines = ["1,2", "short", "3,4", "", '5" coupe,6', '"7,7",8', " , ", "9,9,9", '"a', 'b",10']
    _, odd = looks.odd_lines("\n".join(lines).encode(), ord(","), 2)
    assert [lines[place] for place in odd] == ["short", "", '5" coupe,6', "9,9,9", '"a', 'b",10']


CELLS = st.text(alphabet=st.sampled_from('ab1",;\n é\t '), max_size=6)


@st.composite
def tables(draw: st.DrawFn) -> list[list[str]]:
    width = draw(st.integers(1, 4))
    return draw(st.lists(st.lists(CELLS, min_size=width, max_size=width), max_size=8))


@given(tables(), st.sampled_from(["\n", "\r\n"]), st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
def test_what_the_csv_module_writes_is_read_back(tmp_path_factory, table, ending, quoting):
    width = len(table[0]) if table else 2
    out = io.StringIO()
    writer = csv.writer(out, lineterminator=ending, quoting=quoting)
    writer.writerows([[f"h{place}" for place in range(width)], *table])
    source = file(tmp_path_factory.getbasetemp(), out.getvalue(), separator=",")
    filled = [(n, *row) for n, row in enumerate(table, 2) if any(cell.strip() for cell in row)]
    assert trimmed(rows(source)) == trimmed(filled)
    assert counts(source) == (len(filled), 0, len(table) - len(filled))


@given(TROUBLE)
def test_every_line_is_a_row_or_malformed_or_passed_over(text):
    """Against the csv module: whatever it makes of a text strictly, row by row, is what is found here."""
    found = apart(text, 2)
    assert found.count == len(found.row_numbers) + len(found.malformed) + found.passed_over
    if "\r" in text.replace("\r\n", "\n"):
        return  # csv takes no lone carriage return outside quotes
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), skipinitialspace=True, strict=True))
    except csv.Error:
        return
    assert found.count == len(lines)
    filled = [record for record in lines if any(cell.strip() for cell in record)]
    fit = [tuple(record[:2]) for record in filled if len(record) >= 2 and not any(c.strip() for c in record[2:])]
    assert cells(found) == fit
    assert len(found.malformed) == len(filled) - len(fit)


@pytest.mark.parametrize("piece", [16, 61, 1000])
def test_where_the_file_is_cut_into_pieces_changes_nothing(tmp_path, monkeypatch, piece):
    text = "a,b\n" + "".join(f'"line {n}\n""{n}""",{n}\r\nplain {n},\n' for n in range(40))
    source = file(tmp_path, text)
    whole = rows(source)
    assert len(whole) == 80
    monkeypatch.setattr(delimited, "PIECE_BYTES", piece)
    assert rows(source) == whole


def test_a_line_without_end_is_refused_in_bounded_memory(tmp_path, monkeypatch):
    monkeypatch.setattr(delimited, "PIECE_BYTES", 64)
    monkeypatch.setattr(delimited, "LONGEST_LINE_BYTES", 256)
    with pytest.raises(FileRefused, match="it is no table"):
        list(read_batches(file(tmp_path, "a,b\n" + "x" * 2000)))


def test_batches_hold_text_only(tmp_path):
    [batch] = read_batches(file(tmp_path, "a,b\n1,2.5\n"))
    assert set(batch.rows.dtypes) == {pl.String}
