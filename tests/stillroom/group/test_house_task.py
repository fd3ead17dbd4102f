from __future__ import annotations

import os
import resource
from dataclasses import replace
from pathlib import Path

import polars as pl
import pytest

from house_builder import csv_text, good, put
from small_houses import make_group, sales
from stillroom.answers.panel_plan.drawing import KEY_COLUMNS
from stillroom.group import tables
from stillroom.group.house_task import Done, Job, do
from stillroom.group.settings import Group

BOOK = """
[book]
folder = "book"
own_versions = ["pier"]
[[book.source]]
name = "specs"
plugin = "spec-book"
files = ["specs.csv"]
table = "spec"
[[book.source]]
name = "lines"
plugin = "spec-book"
files = ["lines.csv"]
table = "spec_line"
"""


def job(group: Group, house: str, run_id: str = "r1") -> Job:
    return Job(
        house=house,
        house_at=str(group.folder / "houses" / house),
        kept=str(group.kept / "houses" / tables.slug(house)),
        facts=group.facts,
        run_id=run_id,
        digest=None,
        book=group.book,
        own_versions=group.has_own_versions(house),
    )


def cost(group: Group, done: Done) -> float:
    """Of a Fig Sour, from the facts that were written."""
    [file] = [one for one in done.written if one.table == "costs"]
    return pl.read_parquet(f"{group.facts}/costs/{file.path}").filter(is_known=True)["cost"].item()


def everything(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {str(path): (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.rglob("*") if path.is_file()}


def test_a_house_is_only_read_and_done_again_only_when_a_file_has_changed(tmp_path):
    group = make_group(tmp_path, pier=(1, 2))
    before = everything(tmp_path / "houses")
    done = do(job(group, "pier"))
    assert (done.state, done.rows_read, done.landed) == ("landed", 5, 5)
    assert everything(tmp_path / "houses") == before
    again = replace(job(group, "pier", "r2"), digest=done.digest)
    assert do(again).state == "unchanged"
    till = put(tmp_path / "houses" / "pier", "sale/till.csv", sales(1, 3))  # as long as before
    os.utime(till, ns=(before[str(till)][1],) * 2)
    changed = do(again)
    assert (changed.state, changed.landed) == ("landed", 5)
    [file] = [one for one in changed.written if one.table == "daily_serves"]
    assert pl.read_parquet(f"{group.facts}/daily_serves/{file.path}")["serves"].to_list() == [1, 3]


def test_decisions_of_a_house_hold_in_its_group(tmp_path):
    import stillroom

    group = make_group(tmp_path, pier=(1, 2))
    house = stillroom.open(tmp_path / "houses" / "pier")
    house.intake()
    house.undo("sale/till.csv")
    done = do(job(group, "pier"))
    assert (done.rows_read, done.first_day) == (3, None)


def test_a_sheet_of_codes_is_read_with_the_key_that_lies_beside_it(tmp_path):
    group = make_group(tmp_path, pier=(1,))
    house = tmp_path / "houses" / "pier"
    put(house, "tasting/s1-sheet.csv", csv_text([good("tasting", version="", code="417")]))
    glass = {"session": "s1", "panelist": "P1", "position": "1", "code": "417", "spec": "Fig Sour", "version": "1"}
    key = {**dict.fromkeys(KEY_COLUMNS, ""), **glass}
    put(house, "tasting/keys/s1-key.csv", csv_text([key]))
    done = do(job(group, "pier"))
    assert (done.state, done.aside, done.reason) == ("landed", 0, "")
    [file] = [one for one in done.written if one.table == "panel_scores"]
    assert pl.read_parquet(f"{group.facts}/panel_scores/{file.path}")["version"].to_list() == [1]


def test_a_shared_book_is_the_only_one_but_where_own_versions_count(tmp_path):
    group = make_group(tmp_path, BOOK, pier=(1,), quay=(1,))
    put(tmp_path, "book/specs.csv", csv_text([good("spec")]))
    lines = csv_text([good("spec_line", amount="70")])
    put(tmp_path, "book/lines.csv", lines)
    one_litre = 21 / 700  # of gin, house currency by ml
    assert cost(group, do(job(group, "pier"))) == pytest.approx(50 * one_litre)
    assert cost(group, do(job(group, "quay"))) == pytest.approx(70 * one_litre)
    put(tmp_path, "book/lines.csv", lines.replace("70", "80"))  # a later edition of the book is no later word
    assert cost(group, do(job(group, "pier"))) == pytest.approx(50 * one_litre)
    assert cost(group, do(job(group, "quay"))) == pytest.approx(80 * one_litre)


@pytest.mark.parametrize(
    ("damage", "code", "said"),
    [
        (lambda house: put(house, "sale/till.csv", b"\xff\xfe\x00"), "file", "sale/till.csv"),
        (lambda house: put(house, "stillroom.toml", "[house]\nnames = 'x'"), "settings", "names"),
        (lambda house: (house / "stillroom.toml").unlink(), "settings", "is no house"),
        (lambda house: put(house, "decisions.jsonl", "{"), "decisions", "decision 1"),
    ],
)
def test_a_house_that_cannot_be_done_is_a_word_and_a_sentence(tmp_path, damage, code, said):
    group = make_group(tmp_path, pier=(1,))
    damage(tmp_path / "houses" / "pier")
    done = do(job(group, "pier"))
    assert (done.state, done.reason_code) == ("failed", code)
    assert said in done.reason
    assert done.written == []


def test_a_place_that_is_not_there_is_named(tmp_path):
    done = do(replace(job(make_group(tmp_path, pier=(1,)), "pier"), house_at="no-such-store://bucket/pier"))
    assert (done.state, done.reason_code) == ("failed", "unreachable")
    assert "no-such-store://bucket/pier cannot be read" in done.reason


def test_on_a_full_disk_a_house_fails_and_is_whole_when_there_is_room_again(tmp_path):
    """A limit on the size of files stands for the disk: writing beyond it fails, too (setrlimit(2), EFBIG)."""
    group = make_group(tmp_path, pier=(1, 2))
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        done = do(job(group, "pier"))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert done.state == "failed"
    assert done.reason_code in ("disk", "store")
    assert done.written == []
    again = do(job(group, "pier"))
    assert (again.state, again.landed) == ("landed", 5)
