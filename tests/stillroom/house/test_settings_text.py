"""A [[source]] as text reads back the same, and goes into stillroom.toml without a change to the rest of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from house_builder import HOUSE, make_house, plugins
from stillroom.errors import SettingsError
from stillroom.house.model import SourceSettings, Wide
from stillroom.house.settings import house_of, load_house
from stillroom.house.settings_text import source_text, with_source, write_setting
from stillroom.house.toml import toml


def test_the_rest_of_the_settings_stays_as_it_is(tmp_path: Path) -> None:
    text = (
        '# mine\r\n[house]\r\nname = "X"   # why\r\ncurrency = "EUR"\r\n\r\n'
        '# the old one\r\n[[source]]\r\nname = "old"\r\nplugin = "p"'
    )
    (tmp_path / "stillroom.toml").write_bytes(text.encode())
    house = load_house(tmp_path, plugins())
    block = '[[source]]\nname = "new"\nplugin = "p"\n'
    after, found = with_source(house, plugins(), "new", block, None)
    assert after == text + "\r\n\r\n" + block.replace("\n", "\r\n")
    assert [source.name for source in found.sources] == ["old", "new"]
    before, found = with_source(house, plugins(), "new", block, "old")
    assert before == text.replace("# the old one", block.replace("\n", "\r\n") + "\r\n# the old one")
    assert [source.name for source in found.sources] == ["new", "old"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HOUSE + '[[source]]\nname = "new"\nplugin = "p"\n', "is there already"),
        ('source = [{ name = "a", plugin = "p" }]\n' + HOUSE, "does not fit in"),
        (
            HOUSE + '[[source]]\nname = """\n[[source]]\n"""\nplugin = "p"\n[[source]]\nname = "b"\nplugin = "p"\n',
            "no place",
        ),
    ],
)
def test_settings_into_which_a_source_cannot_be_put(tmp_path: Path, text: str, message: str) -> None:
    house = make_house(tmp_path, text)
    before = house.sources[-1].name
    with pytest.raises(SettingsError, match=message):
        with_source(house, plugins(), "new", '[[source]]\nname = "new"\nplugin = "p"\n', before)


def test_settings_written_as_text_read_back_the_same(tmp_path: Path) -> None:
    settings = SourceSettings(
        name='a "b" \\ \x1b é',
        plugin="till-export",
        files=("a/*.csv", "b.csv"),
        table="sale",
        columns={"sold_at": ("Date", "Time"), "till item": ("Ärtikel",)},
        constants={"venue": "Bar"},
        encoding="cp1252",
        separator="\t",
        sheet=("S",),
        decimal=",",
        date_format="%d/%m/%Y",
        time_zone="Europe/Lisbon",
        venue_in_name="x-{venue}-",
        names_end_at=(" (",),
        tax_pct=7.5,
        totals=("Summe",),
        wide=Wide(headings_are="venue", cells_are="quantity"),
        database="TILL",
        query="SELECT 1",
    )
    text = HOUSE + source_text(settings, frozenset({"sold_at"}), ["a remark"])
    assert house_of(text, tmp_path, plugins()).sources == (settings,)
    assert toml("\x7f\u202e") == '"\\u007f\\U0000202E"'


def test_a_byte_order_mark_is_no_part_of_the_settings(tmp_path: Path) -> None:
    house = make_house(tmp_path, "\ufeff" + HOUSE)
    text, found = with_source(house, plugins(), "x", source_text(SourceSettings(name="x", plugin="till-export")), None)
    assert text.startswith("\ufeff[house]")
    assert [source.name for source in found.sources] == ["x"]


def test_settings_in_another_encoding_are_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "stillroom.toml").write_bytes(HOUSE.encode() + "# Café\n".encode("cp1252"))
    with pytest.raises(SettingsError, match=r"stillroom.toml is not UTF-8: save it as UTF-8\.$"):
        load_house(tmp_path, plugins())


def test_one_setting_is_written_and_remarks_stay(tmp_path: Path) -> None:
    text = (
        HOUSE + '\n# the till\n[[source]]   # mine\nname = "till"\nplugin = "till-export"\n'
        'files = ["t.csv"]   # of the week\n[source.columns]\nsold_at = "Closed"   # local time\n\n'
        '# the old one\n[[source]]\nname = "old"\nplugin = "till-export"\n\n[report.panel]\nmargin = 1.0\n'
    )
    house = make_house(tmp_path, text)
    write_setting(house, plugins(), "till", "names_end_at", [" +"])
    after = (tmp_path / "stillroom.toml").read_text()
    assert after == text.replace("# of the week\n", '# of the week\nnames_end_at = [" +"]\n\n')
    house = load_house(tmp_path, plugins())
    write_setting(house, plugins(), "old", "tax_pct", 20.0)
    assert [source.tax_pct for source in load_house(tmp_path, plugins()).sources] == [None, 20]
    assert "\n[report.panel]\nmargin = 1.0\n" in (tmp_path / "stillroom.toml").read_text()
    house = write_setting(load_house(tmp_path, plugins()), plugins(), "old", "venue", "The Test Room", "constants")
    house = write_setting(house, plugins(), "till", "sold_at", ["Date", "Time"], "columns")
    assert house.sources[1].constants == {"venue": "The Test Room"}
    assert 'sold_at = ["Date", "Time"]   # local time\n' in (tmp_path / "stillroom.toml").read_text()
    with pytest.raises(SettingsError, match="no \\[\\[source\\]\\] there is called 'new'"):
        write_setting(house, plugins(), "new", "tax_pct", 20.0)
