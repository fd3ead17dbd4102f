import polars as pl
import pytest

from stillroom.objects import Column, ReportTable
from stillroom_reports.linking import Links
from stillroom_reports.tables import PAGE_ROWS, TableFault, filled, table_cells

FRAME = pl.DataFrame({"drink": ["A", "B"], "share": [0.5, None], "hidden": [1, 2]})


def _table(frame=FRAME, columns=None):
    columns = columns or {"share": Column(label="Share", percent=True, decimals=0), "drink": Column(label="Drink")}
    return ReportTable(name="t", title="T", frame=frame, columns=columns)


def test_columns_are_shown_as_declared_and_in_their_order():
    cells = table_cells(_table())
    assert [(heading.label, heading.unit, heading.kind) for heading in cells.headings] == [
        ("Share", "%", "number"),
        ("Drink", "", "word"),
    ]
    assert cells.rows == (("50", "A"), ("–", "B"))
    assert cells.left_out == 0


def test_a_very_long_table_says_how_much_is_left_out():
    frame = pl.DataFrame({"n": range(PAGE_ROWS + 7)})
    cells = table_cells(_table(frame, {"n": Column(label="n")}))
    assert len(cells.rows) == PAGE_ROWS
    assert cells.left_out == 7


def test_a_table_that_cannot_be_shown_says_why():
    with pytest.raises(TableFault, match="no column 'absent'"):
        table_cells(_table(FRAME, {"absent": Column(label="?")}))


@pytest.mark.parametrize("frame", [[1, 2], FRAME.lazy()])
def test_a_table_of_anything_but_a_frame_is_none(frame):
    with pytest.raises(TypeError, match=f"must be a polars DataFrame, not {type(frame).__name__}"):
        _table(frame)


def test_rows_are_filled_in_with_links_and_nothing_in_them_is_markup() -> None:
    frame = pl.DataFrame({"spec": ["Fig Sour", "<b>&"], "serves": [3, None], "note": ["Fig Sour", '"']})
    cells = table_cells(_table(frame, {name: Column(label=name) for name in frame.columns}))
    assert filled(cells.rows, cells.headings, Links({"Fig Sour": "drink-fig-sour"})) == (
        '<tr><th scope="row" class="word"><a href="#drink-fig-sour">Fig Sour</a></th><td class="number">3</td>'
        '<td class="word"><a href="#drink-fig-sour">Fig Sour</a></td></tr>\n'
        '<tr><th scope="row" class="word">&lt;b&gt;&amp;</th><td class="number">–</td>'
        '<td class="word">&#34;</td></tr>\n'
    )
