from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import polars as pl
import pytest

from house_builder import plugins
from stillroom.demo import truths, write_demo
from stillroom.errors import UsageError
from stillroom.house.settings import load_house

Texts = dict[str, tuple[str, pl.DataFrame]]


def _bytes(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_same_seed_gives_the_same_bytes_and_another_seed_does_not(demo_folder: Path, tmp_path: Path) -> None:
    write_demo(tmp_path / "again")
    write_demo(tmp_path / "other", seed=7)
    assert _bytes(tmp_path / "again") == _bytes(demo_folder)
    other = _bytes(tmp_path / "other")
    assert other.keys() == _bytes(demo_folder).keys()
    assert other["till/till-2026-08-24.csv"] != _bytes(demo_folder)["till/till-2026-08-24.csv"]


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("keep me")
    with pytest.raises(UsageError, match="is not empty"):
        write_demo(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_folder_that_cannot_be_made_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(UsageError, match="cannot be written"):
        write_demo(tmp_path / "file" / "house")


def test_settings_read_every_file_of_the_house_once(demo_folder: Path) -> None:
    house = load_house(demo_folder, plugins())
    season = house.season("autumn 2026")
    assert (season.first, season.last, season.days) == (truths.FIRST_DAY, truths.LAST_DAY, 91)
    read = [path for source in house.sources for pattern in source.files for path in demo_folder.glob(pattern)]
    assert sorted(read) == sorted(demo_folder.rglob("*.csv"))


def test_each_till_file_holds_its_own_week(demo_texts: Texts) -> None:
    weeks = {name: rows for name, (table, rows) in demo_texts.items() if table == "sale"}
    assert len(weeks) == 14
    spans = []
    for name, rows in weeks.items():
        times = rows["sold_at"].str.to_datetime("%Y-%m-%d %H:%M:%S", strict=False).drop_nulls()
        nights = times.dt.offset_by("-6h").dt.date()
        if name == truths.CORRECTED_FILE:
            assert tuple(nights.unique().sort()) == truths.CORRECTED_DAYS
        else:
            assert nights.dt.truncate("1w").n_unique() == 1
            assert f"till/till-{nights.dt.truncate('1w')[0]}.csv" == name
            spans.append((nights.min(), nights.max()))
            hours = times.dt.hour()
            assert (hours.is_between(17, 23) | (hours < 2)).all()
            assert not (nights.dt.weekday() == 1).any()
    assert all(before[1] < after[0] for before, after in pairwise(spans))


def test_the_corrected_export_differs_in_a_few_lines_only(demo_texts: Texts) -> None:
    first = demo_texts["till/till-2026-10-12.csv"][1]
    corrected = demo_texts[truths.CORRECTED_FILE][1].drop("row_number")
    night = pl.col("sold_at").str.to_datetime("%Y-%m-%d %H:%M:%S").dt.offset_by("-6h").dt.date()
    first = first.filter(night.is_in(truths.CORRECTED_DAYS)).drop("row_number")
    assert corrected.join(first, on=corrected.columns, how="anti").height == 4
    assert first.join(corrected, on=corrected.columns, how="anti").height == 3  # one line was missing


def test_the_spec_book_is_of_the_size_of_a_real_one(demo_texts: Texts) -> None:
    specs = demo_texts["specs/specs.csv"][1]
    named = specs.group_by("kind").agg(pl.col("spec").n_unique()).sort("kind")
    assert dict(named.iter_rows()) == {"drink": 14, "garnish": 2, "preparation": 16}
    versions = specs.filter(pl.col("version") != "draft").group_by("spec").len()["len"]
    assert versions.max() == 4
    assert (versions > 1).sum() >= 10
