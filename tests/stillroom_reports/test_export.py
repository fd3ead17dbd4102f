import csv
import io
import json
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import polars as pl
import pytest

from sample_document import bar_chart, hostile_document, one_report, sample_document
from stillroom.errors import UsageError
from stillroom.objects import Column, ReportChart, ReportTable
from stillroom.safecsv import restored
from stillroom_reports.export import render_json, write_charts, write_csv

FRAME = pl.DataFrame(
    {
        "drink": ["=cmd|'x'!A1", 'Plain, with "quotes"\nand a line', None],
        "made": [date(2026, 3, 2), None, date(2026, 3, 4)],
        "change": [-1.5, float("nan"), 1e-9],
        "kept": [True, False, None],
        "parts": [["gin", "=1"], [], None],
    }
)
TABLE = ReportTable(
    name="drinks",
    title="Drinks",
    frame=FRAME,
    columns={"change": Column(label="Change", percent=True), "drink": Column(label="Drink")},
)
PNG = b"\x89PNG\r\n\x1a\n"  # W3C PNG specification, 5.2


def _read(path):
    return list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")))


def test_json_holds_every_finding_and_every_row():
    def refuse(name):
        raise ValueError(name)

    document = sample_document()
    read = json.loads(render_json(document), parse_constant=refuse)
    assert read["house"]["name"] == "The Lantern House"
    assert read["period"] == {"label": "Spring menu", "first": "2026-03-02", "last": "2026-05-31", "days": 91}
    assert [len(report["findings"]) for report in read["reports"]] == [8, 3, 2]
    assert read["facts"][0] == {"label": "Till lines read", "value": 48212}
    drinks = read["reports"][0]["tables"][0]
    frame = document.entries[0].result.tables[0].frame
    assert [row["spec"] for row in drinks["rows"]] == frame["spec"].to_list()
    assert drinks["rows"][0]["first_sold"] == "2026-03-02"
    assert drinks["rows"][12]["change"] is None


def test_json_says_what_a_column_is():
    (table,) = json.loads(render_json(one_report(tables=(TABLE,))))["reports"][0]["tables"]
    assert table["columns"][0] == {"name": "change", "label": "Change", "unit": "%", "share_of_1": True}
    assert list(table["rows"][0]) == ["change", "drink", "made", "kept", "parts"]


def test_csv_holds_every_column_and_no_formula(tmp_path):
    written = write_csv(one_report(tables=(TABLE,)), tmp_path / "out")
    assert [path.name for path in written] == ["findings.csv", "one-drinks.csv"]
    headings, *rows = _read(written[1])
    assert headings == ["change", "drink", "made", "kept", "parts"]
    assert rows[0] == ["-1.5", "'=cmd|'x'!A1", "2026-03-02", "true", '["gin", "=1"]']
    assert rows[1] == ["", 'Plain, with "quotes"\nand a line', "", "false", "[]"]
    assert rows[2] == ["1e-09", "", "2026-03-04", "", ""]
    assert restored(rows[0][1]) == FRAME["drink"][0]


def test_polars_reads_the_csv_back(tmp_path):
    """A CSV reader that is not ours, on the byte order mark, the quotes and the line break."""
    path = write_csv(one_report(tables=(TABLE,)), tmp_path)[1]
    frame = pl.read_csv(path, try_parse_dates=True)
    assert frame["made"].to_list() == FRAME["made"].to_list()
    assert frame["change"].to_list() == [-1.5, None, 1e-9]
    assert frame["drink"][1] == FRAME["drink"][1]


def test_findings_are_in_a_csv_of_their_own(tmp_path):
    rows = _read(write_csv(sample_document(), tmp_path)[0])
    said = ["sentence", "evidence", "sureness", "act", "subject", "do", "money", "why", "mend", "statistics", "weight"]
    assert rows[0] == ["report", *said]
    assert len(rows) == 1 + 13
    assert rows[1][0] == "season"
    assert (rows[1][4:6], rows[1][-1]) == (["true", "Smoked Pear Sour"], "4200")


def test_hostile_names_stay_in_the_folder_and_are_no_formula(tmp_path):
    folder = tmp_path / "deep" / "out"
    written = write_csv(hostile_document(), folder)
    assert {path.parent for path in written} == {folder}
    assert {path.name for path in folder.iterdir()} == {path.name for path in written}
    for path in written:
        for cell in (cell for row in _read(path) for cell in row):
            assert not cell.startswith(("=", "+", "@"))


def test_two_tables_of_one_name_get_two_files(tmp_path):
    written = write_csv(one_report(tables=(TABLE, replace(TABLE, name="Drinks"), TABLE)), tmp_path)
    assert [path.name for path in written[1:]] == ["one-drinks.csv", "one-Drinks-2.csv", "one-drinks-3.csv"]


def test_charts_become_pictures_and_faults_are_told(tmp_path):
    charts = (bar_chart("first"), ReportChart(name="second", title="S", chart=None), bar_chart("third"))  # type: ignore[arg-type]
    document = one_report(charts=charts)
    written, faults = write_charts(document, tmp_path, "svg")
    assert [path.name for path in written] == ["one-first.svg", "one-third.svg"]
    assert faults == ["Report 'one', chart 'second': no picture, because it is a NoneType, not an Altair chart."]
    drawn = ElementTree.parse(written[0]).getroot()
    assert drawn.tag == "{http://www.w3.org/2000/svg}svg"
    assert "Serves of 3 drinks" in "".join(drawn.itertext())
    before = written[0].read_bytes()
    write_charts(document, tmp_path, "svg")
    assert written[0].read_bytes() == before


def test_a_picture_can_be_png(tmp_path):
    (path,), faults = write_charts(one_report(charts=(bar_chart(),)), tmp_path, "png")
    assert path.read_bytes().startswith(PNG)
    assert faults == []


def test_a_folder_that_cannot_be_made_is_a_clear_line(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(UsageError, match="cannot be made"):
        write_csv(one_report(), tmp_path / "out")
