"""What is said where there is nobody to hear it, no room for it, or no sign for a letter of it."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from house_builder import House, command, good, make_house, put, take_in


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    folder = tmp_path_factory.mktemp("house") / 'a "bar"\n100%'
    house = make_house(folder)
    for table in ("spec", "spec_line"):
        put(folder, f"{table}/a.csv", [good(table, spec="Café Sour")])
    take_in(house)
    return house


def ran(line: str, house: House) -> subprocess.CompletedProcess[str]:
    """A line of a shell in which `stillroom` is our program and `$HOUSE` the house."""
    setting = {**os.environ, "HOUSE": str(house.folder)}
    words = ["bash", "-c", f'stillroom() {{ "{sys.executable}" -m stillroom "$@" --house "$HOUSE"; }}; {line}']
    return subprocess.run(words, env=setting, capture_output=True, text=True, check=False)


def test_an_intake_goes_on_when_nobody_listens_any_more(tmp_path: Path) -> None:
    house = make_house(tmp_path / "house")
    for name in "ab":
        put(house.folder, f"sale/{name}.csv", [good("sale", till_item=name)])
    said = ran("stillroom intake | head -0; exit ${PIPESTATUS[0]}", house)
    assert (said.returncode, said.stdout, said.stderr) == (0, "", "")
    assert [line["rows_landed"] for line in command("ledger", "--json", house=house).json] == [1, 1]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device here that is always full")
def test_where_nothing_can_be_written_any_more_one_line_says_so(house: House) -> None:
    said = ran("stillroom ledger > /dev/full", house)
    full = "Standard output cannot be written: No space left on device.\n"
    assert (said.returncode, said.stderr) == (2, full)


def test_without_standard_input_nobody_is_asked(house: House) -> None:
    said = ran("stillroom match <&-", house)
    assert (said.returncode, said.stderr) == (0, "")


class Old(io.TextIOWrapper):
    """A terminal or file that knows ASCII alone."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), encoding="ascii")

    def held(self) -> str:
        self.flush()
        assert isinstance(self.buffer, io.BytesIO)
        return self.buffer.getvalue().decode("ascii")


def test_letters_that_a_stream_has_not_are_spelt_out(monkeypatch: pytest.MonkeyPatch) -> None:
    from stillroom.cli.speaking import show, write_json

    out = Old()
    monkeypatch.setattr(sys, "stdout", out)
    show("Café, 4 °C")
    write_json({"spec": "Café"})
    first, rest = out.held().split("\n", 1)
    assert first == r"Caf\xe9, 4 \xb0C"
    assert json.loads(rest) == {"spec": "Café"}


def test_a_fault_is_one_line_in_a_house_whose_name_has_two(house: House) -> None:
    said = command("undo", "7", house=house)
    assert (said.code, said.err.count("\n")) == (2, 1)
    said = command("report", "--season", "none", "--out", house.folder / "no/where.html", house=house)
    assert (said.code, said.err.count("\n")) == (2, 1)
    said = command("report", "cost", "--out", house.folder / "no/where.html", house=house)
    assert (said.code, said.err.count("\n")) == (2, 1)


def test_a_folder_that_is_gone_is_no_fault_of_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    said = command("ledger")
    assert (said.code, said.err) == (2, "The folder you are in is gone: go to another.\n")


def test_a_wrong_share_of_the_processors_is_no_damage_to_the_store(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("POLARS_MAX_THREADS", "all")
    assert command("ledger", house=house).code == 0
