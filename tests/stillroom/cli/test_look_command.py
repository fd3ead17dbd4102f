"""`stillroom look`: what it says on a terminal of 80 columns and as JSON, what it writes, and its exit codes."""

from __future__ import annotations

from pathlib import Path

import pytest

from house_builder import HOUSE, command, csv_text, good, make_house, plugins, put
from stillroom.house.settings import load_house

CLEAN = csv_text([good("sale", line_id=n) for n in range(5)])
MAPPED = "Report of the till\nClosed;Article;Qty;Net\n" + "".join(
    f"{n}.03.2026 20:00;Fig;1;9,50\n" for n in range(12, 30)
)


def test_a_clean_file(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    said = command("look", put(tmp_path, "t.csv", CLEAN), house=house)
    assert (said.code, said.err) == (0, "")
    assert "text, cells parted by commas, UTF-8" in said.out
    assert "5 rows read: 5 would land, 0 set aside." in said.out
    assert '[[source]]\nname = "t"\nplugin = "till-export"\nfiles = ["t*.csv"]\n' in said.out
    assert (tmp_path / "stillroom.toml").read_text() == HOUSE


def test_a_file_with_headings_of_its_own(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "t.csv", MAPPED + "30.03.2026 20:00;Fig;1;much\n")
    said = command("look", path, "--write", house=house)
    assert said.code == 1
    for words in (
        "cells parted by semicolons, UTF-8, decimal comma",
        "in row 2; 1 line above is skipped",
        "SUGGESTED sold_at    = Closed",
        "row  sold_at           venue          till_item  quantity  net_amount",
        "  3  2026-03-12 20:00  The Test Room  Fig               1         9.5",
        "19 rows read: 18 would land, 1 set aside.",
        "row 21: net_amount cannot be read as a number (write 1234.5) (found 'much')",
        "Written into ",
    ):
        assert words in said.out
    assert max(map(len, said.out.split("\nSettings for it")[0].splitlines())) <= 80
    assert command("intake", house=house).code == 1
    again = command("look", path, "--write", house=house)
    assert again.code == 1
    assert "stillroom.toml has all that it needs." in again.out
    assert [source.name for source in load_house(tmp_path, plugins()).sources] == ["t"]
    late = " ".join(command("look", path, "--answer", "tax_pct=19", "--write", house=house).out.split())
    assert "Source 't' reads it as" in late
    assert "what was answered changes nothing: change it there." in late
    assert [source.tax_pct for source in load_house(tmp_path, plugins()).sources] == [None]


def test_a_heading_that_fits_once_its_tax_is_said_is_open_and_not_missing(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    said = command("look", put(tmp_path, "t.csv", MAPPED.replace("Net", "Gross")), house=house)
    assert "OPEN      net_amount: no row can land before it is said" in said.out
    assert "MISSING" not in said.out


def test_as_json(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    said = command("look", put(tmp_path, "t.csv", MAPPED), "--json", "--write", house=house)
    found = said.json
    assert said.code == found["exit_code"] == 0
    assert (found["table"], found["plugin"], found["decimal"]) == ("sale", "till-export", ",")
    assert found["date_format"] == "%d.%m.%Y %H:%M"
    assert found["recognised"]["separator"] == ";"
    assert found["recognised"]["heading_row"] == 2
    assert (found["rows_read"], found["rows_landed"], found["rows_set_aside"]) == (18, 18, 0)
    assert found["first_rows"][0]["net_amount"] == "9.5000"
    assert found["written"] is True
    assert found["settings_text"] in (tmp_path / "stillroom.toml").read_text()


def test_a_choice_that_is_open(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    said = command("look", put(tmp_path, "t.csv", MAPPED.replace(".03.2026", "/03/2026")[:60]), house=house)
    assert "? " not in said.out
    rows = "Closed,Article,Qty,Net\n02/03/2026 20:00,Fig,1,9\n"
    said = command("look", put(tmp_path, "u.csv", rows), house=house)
    assert said.code == 1
    assert "? '02/03/2026 20:00' may be\n      2 March 2026: date_format = " in said.out
    assert "3 February 2026: date_format" in said.out
    assert "0 would land, 1 set aside" in said.out


def test_a_source_of_that_name_is_there(tmp_path: Path) -> None:
    settings = HOUSE + '[[source]]\nname = "till"\nplugin = "till-export"\n'
    house = make_house(tmp_path, settings)
    said = command("look", put(tmp_path, "t.csv", MAPPED), "--source", "till", "--write", house=house)
    assert said.code == 2
    assert said.err == (
        "A source 'till' is in stillroom.toml already; nothing was written. Give another name with --source.\n"
    )
    assert (tmp_path / "stillroom.toml").read_text() == settings


def test_what_would_steer_a_terminal_is_shown_harmless(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = "sold_at,till_item,quantity,net_amount,\x1b[31mred\n2026-03-02 20:00,\x1b[2Jboo,1,9,\u202e\n"
    said = command("look", put(tmp_path, "\x1b]0;t.csv", rows), house=house)
    assert said.code == 0
    assert "�[2Jboo" in said.out
    assert not {"\x1b", "\u202e"} & set(said.out)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.csv", b"", "empty.csv: is empty."),
        ("nul.csv", b"\0\1" * 50, "nul.csv: holds NUL bytes"),
        ("cut.xlsx", b"PK\x03\x04 cut short", "cut.xlsx: is damaged or cut short"),
        ("page.csv", b"<!DOCTYPE html><html>", "is a web page or XML"),
        ("twice.csv", b"sold_at,sold_at\n1,2\n", "the heading 'sold_at' stands twice"),
        ("other.csv", b"alpha,beta\n1,2\n", "no table is near these headings: alpha, beta."),
    ],
)
def test_what_cannot_be_read_is_one_line(tmp_path: Path, name: str, content: bytes, words: str) -> None:
    house = make_house(tmp_path, HOUSE)
    said = command("look", put(tmp_path, name, content), house=house)
    assert (said.code, said.out) == (2, "")
    assert words in said.err
    assert said.err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["missing.csv"], "missing.csv: there is no such file."),
        ([".", "--table", "sale"], "--source, --plugin and --table are for one file; name it alone."),
        (["t.csv", "--plugin", "nobody"], "There is no plugin 'nobody'; there are: batch-book"),
        (["t.csv", "--table", "nothing"], "There is no table 'nothing'; there are: batch,"),
        (["t.csv", "--plugin", "batch-book", "--table", "sale"], "Plugin 'batch-book' fills no table 'sale'"),
    ],
)
def test_what_is_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], message: str) -> None:
    house = make_house(tmp_path, HOUSE)
    put(tmp_path, "t.csv", CLEAN)
    monkeypatch.chdir(tmp_path)
    said = command("look", *words, house=house)
    assert (said.code, said.out) == (2, "")
    assert message in said.err


def test_no_house(tmp_path: Path) -> None:
    said = command("look", put(tmp_path, "t.csv", CLEAN), house=tmp_path)
    assert said.code == 2
    assert "is not inside a house" in said.err
