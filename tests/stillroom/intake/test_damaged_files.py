"""Files damaged at random: `fuzzing` says how; `make fuzz` tries ten thousand of each table."""

from __future__ import annotations

import json
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from fuzzing import decisions_refused, run_sequence, settings_refused, take_in_damaged
from house_builder import GOOD, csv_text, good, make_house, put, take_in


@pytest.mark.parametrize("table", GOOD)
def test_no_damaged_file_breaks_an_intake_or_its_sums(table, tmp_path):
    ended = take_in_damaged(table, 12, tmp_path)
    assert ended["landed"] > 0
    assert ended["refused"] > 0


def test_damaged_settings_are_read_or_refused_in_one_line(tmp_path):
    refused = [settings_refused(number, tmp_path) for number in range(150)]
    assert True in refused
    assert False in refused


def test_damaged_decisions_are_understood_or_refused_in_one_line(tmp_path):
    refused = sum(decisions_refused(number, tmp_path) for number in range(300))
    assert 0 < refused < 300


def test_no_sequence_of_commands_on_damaged_files_ends_in_a_fault(tmp_path):
    assert run_sequence(5, tmp_path / "house").total() == 6


@pytest.mark.parametrize("table", GOOD)
@settings(max_examples=3, deadline=None, phases=(Phase.generate,))
@given(data=st.data())
def test_whatever_a_cell_holds_its_row_is_accounted_for(table, data):
    """Of JSON lines, in which any text can stand, every row is read; a text file may be refused for what is in it."""
    cells = st.tuples(st.sampled_from(list(GOOD[table])), st.text(max_size=40))
    rows = [good(table, **{column: text}) for column, text in data.draw(st.lists(cells, min_size=40, max_size=40))]
    with TemporaryDirectory() as scratch:
        house = make_house(Path(scratch))
        lines = put(house.folder, "a.jsonl", "\n".join(json.dumps(row) for row in rows))
        plain = put(house.folder, "b.csv", csv_text(rows).encode("utf-8", "replace"))
        (of_lines,), (of_text,) = (take_in(house, path, source=table) for path in (lines, plain))
    assert of_lines.rows_read == len(rows)
    assert of_text.status in ("landed", "refused", "unchanged")
