from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import polars as pl
import pytest

from stillroom.group import facts, tables
from stillroom.group.facts import HOUSES
from stillroom.group.places import Unreachable

pytest.importorskip("deltalake", reason="the extra 'group' is not installed")


def row(house: str, run_id: str, state: str = "landed") -> pl.DataFrame:
    cells = dict.fromkeys(facts.schema(HOUSES))
    cells |= {"house": house, "run_id": run_id, "state": state, "committed_at": datetime(2026, 3, 2, tzinfo=UTC)}
    return pl.DataFrame([cells], schema=facts.schema(HOUSES))


def write(place: str, house: str, run_id: str) -> None:
    """Commit a row of `open_days` for a house."""
    frame = pl.DataFrame([{"house": house, "run_id": run_id, "is_open": True}], schema=facts.schema("open_days"))
    tables.commit(place, run_id, {house: tables.write(place, house, run_id, {"open_days": frame})})


def counting(place: str) -> list[tuple[str, str]]:
    files = tables.files(place)["open_days"]
    return sorted(pl.read_parquet(files).select("house", "run_id").rows()) if files else []


@pytest.fixture
def place(tmp_path):
    tables.make(str(tmp_path))
    return str(tmp_path)


def test_facts_count_once_houses_says_so_and_not_before(place):
    write(place, "pier", "r1")
    assert counting(place) == []
    tables.standing(place).commit(row("pier", "r1"))
    write(place, "pier", "r2")
    write(place, "quay", "r2")
    assert counting(place) == [("pier", "r1")]
    tables.standing(place).commit(pl.concat([row("pier", "r2"), row("quay", "r2")]))
    assert counting(place) == [("pier", "r2"), ("quay", "r2")]


@pytest.mark.parametrize("torn", [lambda entry: entry[:-40], lambda entry: b""])
def test_a_torn_entry_of_a_log_is_told_in_one_line_and_no_fact_is_passed_over(place, torn):
    write(place, "pier", "r1")
    tables.standing(place).commit(row("pier", "r1"))
    entry = max(Path(place, "open_days", "_delta_log").glob("*.json"))
    entry.write_bytes(torn(entry.read_bytes()))
    for work in (tables.make, tables.files):
        with pytest.raises(Unreachable) as raised:
            work(place)
        assert str(raised.value).startswith(f"The tables at {place} are damaged (")
        assert str(raised.value).endswith(
            "delete them all, and 'stillroom group intake' makes them anew from the houses."
        )
        assert "\n" not in str(raised.value)


def test_who_loses_the_race_for_houses_changes_nothing_and_can_read_again(place):
    ours, theirs = tables.standing(place), tables.standing(place)
    theirs.commit(row("pier", "theirs"))
    with pytest.raises(tables.LostRace):
        ours.commit(row("pier", "ours"))
    assert tables.counting(place) == {"pier": "theirs"}
    tables.standing(place).commit(row("quay", "ours"))
    assert tables.counting(place) == {"pier": "theirs", "quay": "ours"}


def test_facts_that_count_no_longer_are_taken_out_and_those_of_another_run_under_way_are_not(place):
    for run_id in ("r1", "r2", "under-way"):
        write(place, "pier", run_id)
    tables.standing(place).commit(row("pier", "r2"))
    tables.take_out(place, {"pier": "r1"})
    tables.standing(place).commit(row("pier", "under-way"))
    assert counting(place) == [("pier", "under-way")]
    tables.standing(place).commit(row("pier", "r1"))
    assert counting(place) == []


def test_who_reads_while_a_house_is_replaced_has_it_whole(place, monkeypatch):
    write(place, "pier", "r1")
    tables.standing(place).commit(row("pier", "r1"))
    known, calls = tables._known, []

    def replaced_meanwhile(table):
        calls.append(table)
        if len(calls) == 1:
            write(place, "pier", "r2")
            tables.standing(place).commit(row("pier", "r2"))
            tables.take_out(place, {"pier": "r1"})
        return known(table)

    monkeypatch.setattr(tables, "_known", replaced_meanwhile)
    assert counting(place) == [("pier", "r2")]


def test_other_readers_of_delta_tables_read_facts(place):
    write(place, "Café / Pier", "r1")
    assert pl.read_delta(f"{place}/open_days").select("house", "run_id", "is_open").rows() == [
        ("Café / Pier", "r1", True)
    ]
