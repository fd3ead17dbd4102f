"""The file of verdicts: whole lines, only ever added; damage is one line that says where."""

from datetime import date

import pytest

from house_builder import command, good, make_house, put, take_in
from stillroom.errors import DecisionsError
from stillroom.house.verdicts import VERDICTS_NAME, take, taken
from stillroom.objects import MenuVerdict

ONE = MenuVerdict(subject="Fig Sour", decision="rework", day=date(2026, 3, 30), by="Ana", why="too sweet, “flabby”")


def test_what_is_written_is_read_again_in_its_order(tmp_path):
    assert taken(tmp_path) == ()
    other = MenuVerdict(subject="Fig Sour", decision="keep", day=date(2026, 6, 29), by="Bo", why="better now")
    take(tmp_path, ONE)
    take(tmp_path, other)
    assert taken(tmp_path) == (ONE, other)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{", "it must say subject"),
        ('{"subject": "A", "decision": "keep", "day": "soon", "by": "x", "why": "y"}', "it must say subject"),
        ('{"subject": "A", "decision": "burn", "day": "2026-03-01", "by": "x", "why": "y"}', "not 'burn'"),
        ('{"subject": "\\ud800", "decision": "keep", "day": "2026-03-01", "by": "x", "why": "y"}', "each a text"),
        ("[" * 100_000, "it must say subject"),
        ('{"subject": 3, "decision": "keep", "day": "2026-03-01", "by": "x", "why": "y"}', "each a text"),
    ],
)
def test_a_damaged_line_is_named_and_nothing_is_added(tmp_path, line, said):
    take(tmp_path, ONE)
    path = tmp_path / VERDICTS_NAME
    path.write_text(path.read_text(encoding="utf-8") + line, encoding="utf-8")
    before = path.read_bytes()
    with pytest.raises(DecisionsError) as error:
        take(tmp_path, ONE)
    assert f"{VERDICTS_NAME}, line 2" in str(error.value)
    assert said in str(error.value)
    assert path.read_bytes() == before


def test_the_command_takes_a_verdict_and_shows_all(tmp_path):
    house = make_house(tmp_path / "house")
    put(house.folder, "spec/spec.csv", [good("spec")])
    take_in(house)
    assert "No verdict has been taken yet" in command("verdict", house=house).out
    said = command("verdict", "fig sour", "drop", "--by", "Ana", "--why", "nobody orders it", house=house)
    assert said.out == "Fig Sour: drop. Written into verdicts.jsonl.\n"
    (one,) = command("verdict", "--json", house=house).json
    assert (one["subject"], one["decision"], one["by"], one["why"]) == ("Fig Sour", "drop", "Ana", "nobody orders it")
    assert "Fig Sour: drop (Ana). nobody orders it" in command("verdict", house=house).out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["Fog Sour", "drop", "--by", "A", "--why", "b"], "There is no spec 'Fog Sour'. Did you mean 'Fig Sour'?"),
        (["Fig Sour", "burn", "--by", "A", "--why", "b"], "must be keep, rework, drop, not 'burn'"),
        (["Fig Sour", "drop", "--why", "b"], "Say who decided and why"),
        (["Fig Sour", "drop", "--by", "A"], "Say who decided and why"),
    ],
)
def test_what_is_no_verdict_is_one_line_and_nothing_is_written(tmp_path, words, said):
    house = make_house(tmp_path / "house")
    put(house.folder, "spec/spec.csv", [good("spec")])
    take_in(house)
    refused = command("verdict", *words, house=house)
    assert refused.code == 2
    assert said in refused.err
    assert not (house.folder / VERDICTS_NAME).exists()
