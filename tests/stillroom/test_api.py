"""A house as a program or a notebook asks it."""

from __future__ import annotations

from datetime import date

import pytest

import stillroom
from house_builder import command, good, make_house, put
from stillroom.errors import SettingsError, UsageError

SALES = [good("sale", sold_at=f"2026-03-{day:02d} 20:00") for day in (2, 3, 4)]


@pytest.fixture
def house(tmp_path):
    folder = make_house(tmp_path / "house").folder
    for table in ("spec", "spec_line", "ingredient"):
        put(folder, f"{table}/{table}.csv", [good(table)])
    put(folder, "sale/sale.csv", SALES)
    opened = stillroom.open(folder)
    assert [outcome.status for outcome in opened.intake()] == ["landed"] * 4
    return opened


def test_views_and_queries_are_frames(house):
    assert house.view("daily_serves")["serves"].to_list() == [1.0, 1.0, 1.0]
    assert house.sql("SELECT count(*) AS lines FROM current_sale WHERE quantity >= ?", 1)["lines"].item() == 3


def test_a_query_cannot_change_the_store(house):
    with pytest.raises(UsageError, match="cannot be answered"):
        house.sql("DELETE FROM sale")
    assert house.sql("SELECT count(*) AS lines FROM sale")["lines"].item() == 3


def test_a_query_that_makes_no_sense_is_one_sentence(house):
    with pytest.raises(UsageError, match="no_such_view"):
        house.sql("SELECT * FROM no_such_view")


def test_a_report_has_findings_tables_and_charts_and_shows_itself(house):
    answer = house.report("season", first=date(2026, 3, 2), last=date(2026, 3, 4))
    assert answer.findings
    assert answer.tables["drinks"]["serves"].to_list() == [3.0]
    shown = answer._repr_html_()
    assert "Fig Sour" in shown
    assert shown.count("<svg") == len(answer.charts) > 0
    assert answer.findings[0].sentence in repr(answer)


def test_a_report_says_what_the_command_line_says(house):
    told = command("report", "season", "--format", "json", house=house.settings.folder).json
    findings = [finding.sentence for finding in house.report("season").findings]
    assert sorted(finding["sentence"] for finding in told["reports"][0]["findings"]) == sorted(findings)


def test_a_spec_gives_its_sheet_at_any_size(house):
    spec = house.spec("fig sour")
    assert spec.sheet().cost.known == pytest.approx(50 / 700 * 21)
    assert spec.sheet(serves=4).cost_scaled.known == pytest.approx(4 * 50 / 700 * 21)
    with pytest.raises(UsageError, match="no spec 'Fig Sower'"):
        house.spec("Fig Sower")


def test_undo_and_ledger(house):
    sale = next(line.entry for line in house.ledger() if line.entry.table_name == "sale")
    house.undo(sale.intake_id)
    assert house.view("daily_serves").is_empty()


def test_a_folder_that_is_no_house_is_refused(tmp_path):
    with pytest.raises(SettingsError, match="not inside a house"):
        stillroom.open(tmp_path)
