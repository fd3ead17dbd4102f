"""A new house takes in what its own commands write."""

from __future__ import annotations

import csv

import pytest

from house_builder import command, csv_text, current, plugins, take_in
from stillroom.house.settings import load_house


@pytest.mark.parametrize(("method", "cell", "table"), [("scores", "score", "tasting"), ("triangle", "answer", "trial")])
def test_the_sheet_of_a_planned_session_is_taken_in_with_all_other_files(tmp_path, method, cell, table):
    folder = tmp_path / "house"
    command("new", folder)
    command(
        "panel", "plan", "Fig Sour", "1", "2", "--panelists", 4, "--method", method, "--on", "2026-03-02", house=folder
    )
    [sheet] = (folder / "panels").glob("*-sheet.csv")
    rows = list(csv.DictReader(sheet.read_text(encoding="utf-8").splitlines()))
    for row in rows:
        row[cell] = "7" if cell == "score" else row["codes"].split()[0]
    sheet.write_text(csv_text(rows), encoding="utf-8")
    outcomes = take_in(load_house(folder, plugins()))
    assert [o.rows_landed for o in outcomes if o.status == "landed"] == [len(rows)]
    assert len(current(load_house(folder, plugins()), table, "panelist")) == len(rows)
