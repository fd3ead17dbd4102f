"""Files and settings made to do harm do none: names stay names, and nothing outside the house is read."""

from __future__ import annotations

import os
import struct
from pathlib import Path

import polars as pl
import pytest

from house_builder import HOUSE, SOURCES, ask, command, csv_text, current, good, make_house, put, take_in
from stillroom.errors import SettingsError

NAMES = (
    "Fig'; DROP TABLE sale; --",
    '"; DELETE FROM intake; --',
    "<script>alert(1)</script>",
    "=HYPERLINK('http://x')",
    "@SUM(A1)",
    "{{7*7}} %s %(name)s \\N",
    "$1 ? :name",
)


def test_a_name_stays_a_name_all_the_way(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec", spec=name) for name in NAMES])
    put(
        tmp_path,
        "sale/sale.csv",
        [good("sale", till_item=f"{name}{more}") for name in NAMES for more in ("", " twice")],
    )
    put(tmp_path, "batch/batch.csv", [good("batch", batch=name, preparation=name, made_amount="x") for name in NAMES])
    take_in(house)
    assert sorted(ask(house, "SELECT spec, serves FROM daily_serves")) == [(name, 1.0) for name in sorted(NAMES)]
    assert sorted(current(house, "spec", "spec")) == [(name,) for name in sorted(NAMES)]
    assert len(ask(house, "SELECT * FROM intake")) == 3
    for words in (("report", "--format", "csv"), ("match",), ("aside", "--out", tmp_path / "aside"), ("verify",)):
        said = command(*words, house=house)
        assert "fault in Stillroom" not in said.err, words
    written = [path for path in tmp_path.rglob("*.csv") if path.parent.name not in ("spec", "sale", "batch")]
    assert written
    for path in written:
        cells = pl.read_csv(path, infer_schema=False, has_header=False).to_dict(as_series=False).values()
        texts = [cell for column in cells for cell in column if cell]
        assert not [text for text in texts if text.startswith(("=", "@"))], path


@pytest.mark.parametrize("pattern", ["../secret.csv", "/etc/passwd", "sale/../../secret.csv"])
def test_settings_cannot_name_files_outside_the_house(tmp_path, pattern):
    put(tmp_path, "secret.csv", [good("sale")])
    house = make_house(tmp_path / "house", settings=HOUSE + SOURCES.replace("sale/*.csv", pattern))
    with pytest.raises(SettingsError, match="leaves the house folder"):
        take_in(house)


def test_a_link_out_of_the_house_is_not_followed(tmp_path):
    secret = put(tmp_path, "secret.csv", [good("sale")])
    house = make_house(tmp_path / "house")
    (house.folder / "sale").mkdir()
    (house.folder / "sale" / "sale.csv").symlink_to(secret)
    [outcome] = take_in(house)
    assert (outcome.file, outcome.status) == ("sale/sale.csv", "refused")
    assert outcome.problem.startswith("sale/sale.csv: is a link that leads out of the house: ")


@pytest.mark.parametrize("words", [("look",), ("intake", "--source", "sale")])
def test_a_pipe_and_a_device_are_refused_and_not_waited_for(tmp_path, words):
    house = make_house(tmp_path / "house")
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero"):
        said = command(words[0], path, *words[1:], house=house)
        assert (said.code, "is a pipe or a device" in said.err + said.out) == (2, True)


def test_a_file_name_that_is_no_text_stops_nothing(tmp_path):
    house = make_house(tmp_path)
    path = Path(os.fsdecode(bytes(tmp_path) + b"/sale/caf\xe9.csv"))
    put(tmp_path, "sale/a.csv", [good("sale", till_item="Fig")])
    path.write_text(csv_text([good("sale", till_item="Plum")]))
    assert sorted(one.file for one in take_in(house)) == ["sale/a.csv", r"sale/caf\xe9.csv"]
    assert [one.status for one in take_in(house)] == ["unchanged"] * 2
    for words in (("ledger",), ("look", path), ("verify",)):
        assert "fault in Stillroom" not in command(*words, house=house).err


def test_a_columnar_file_that_declares_more_than_it_holds_is_refused(tmp_path):
    house = make_house(tmp_path)
    path = tmp_path / "sale.parquet"
    pl.DataFrame([good("sale")]).write_parquet(path)
    whole = path.read_bytes()
    footer = struct.unpack("<I", whole[-8:-4])[0]
    liars = {
        "footer of 2 GB": whole[:-8] + struct.pack("<I", 2**31 - 1) + b"PAR1",
        "no end": whole[: len(whole) // 2],
        "noise for a footer": whole[: -8 - footer] + b"\xff" * footer + whole[-8:],
    }
    for name, content in liars.items():
        path.write_bytes(content)
        said = command("intake", path, "--source", "sale", house=house)
        assert said.code == 2, name
        assert len((said.out + said.err).splitlines()) <= 2, name
        assert "fault in Stillroom" not in said.err, name
