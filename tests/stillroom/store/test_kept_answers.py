"""An answer is kept while all that it rests on is the same; each thing that it rests on makes it anew."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path

import duckdb
import pytest

from house_builder import HOUSE, SOURCES, command, copied, good, make_house, put, take_in
from stillroom.answers import prep_list as prep_list_of
from stillroom.answers import reporting
from stillroom.house.house import House
from stillroom.objects import Finding, Report, ReportResult
from stillroom.plugins import registry
from stillroom.store import kept_answers

ASKED = ("report", "season", "--format", "json", "--from", "2026-03-01", "--to", "2026-03-31")
NEXT_MAKING = "[report.prep-list]\nnext_making_days = 2\n"
SPRING = '[[season]]\nname = "spring"\nfrom = 2026-03-01\nto = 2026-03-31\n'
Made = Callable[..., bool]


@pytest.fixture(scope="module")
def taken_in(tmp_path_factory: pytest.TempPathFactory) -> House:
    house = make_house(tmp_path_factory.mktemp("kept") / "house")
    put(house.folder, "spec/spec.csv", [good("spec", price="9")])
    put(house.folder, "sale/1.csv", [good("sale")])
    take_in(house)
    return house


@pytest.fixture
def house(taken_in: House, tmp_path: Path) -> House:
    return copied(taken_in, tmp_path / "house")


@pytest.fixture
def anew(house: House, monkeypatch: pytest.MonkeyPatch) -> Made:
    """Asks, and says whether the answer was worked out anew; a kept one must be what would be worked out."""
    worked = []

    def counted(*given: object, **named: object) -> reporting.Answers:
        worked.append(given)
        return answer(*given, **named)  # type: ignore[arg-type]

    answer = reporting.answer
    monkeypatch.setattr(reporting, "answer", counted)
    monkeypatch.setattr(
        kept_answers, "BEGAN", time.time_ns() + 10**12
    )  # modules that a test writes are none of today's

    def ask(*words: str) -> bool:
        before = len(worked)
        said = command(*(words or ASKED), house=house)
        assert said.code == 0, said.err
        return len(worked) > before

    return ask


def test_the_same_again_is_kept_and_is_the_same_to_the_byte(house: House, anew: Made) -> None:
    first = command(*ASKED, house=house)
    assert command(*ASKED, house=house) == first
    assert not anew()
    page = ("report", "season", "--from", "2026-03-01", "--to", "2026-03-31")
    said = command(*page, house=house)
    [file] = house.folder.glob("report*.html")
    written = file.read_bytes()
    file.unlink()
    assert command(*page, house=house) == said
    assert file.read_bytes() == written
    take_in(house)  # nothing new
    assert not anew()


@pytest.mark.parametrize("more", [good("sale", quantity="3", net_amount="27"), good("sale", quantity="x")])
def test_a_row_that_lands_or_is_set_aside_makes_it_anew(house: House, anew: Made, more: dict[str, object]) -> None:
    assert anew()
    put(house.folder, "sale/2.csv", [good("sale", sold_at="2026-03-03 20:00"), more])
    take_in(house)
    assert anew()
    assert not anew()


def test_undoing_and_redoing_make_it_anew(house: House, anew: Made) -> None:
    put(house.folder, "sale/2.csv", [good("sale", sold_at="2026-03-03 20:00")])
    take_in(house)
    assert anew()
    for word in ("undo", "redo"):
        assert command(word, "sale/2.csv", house=house).code in (0, 1)
        assert anew()
        assert not anew()


def test_a_decision_that_came_from_elsewhere_makes_it_anew(house: House, anew: Made) -> None:
    decisions = house.folder / "decisions.jsonl"
    before = decisions.read_text(encoding="utf-8")
    command("undo", "spec/spec.csv", house=house)
    undone = decisions.read_text(encoding="utf-8")
    decisions.write_text(before, encoding="utf-8")
    assert anew()
    decisions.write_text(undone, encoding="utf-8")
    assert anew()


@pytest.mark.parametrize("text", [NEXT_MAKING, SPRING, "# a remark\n"])
def test_a_setting_makes_it_anew(house: House, anew: Made, text: str) -> None:
    assert anew()
    (house.folder / "stillroom.toml").write_text(HOUSE + SOURCES + text, encoding="utf-8")
    assert anew()
    assert not anew()


def test_another_day_makes_it_anew(house: House, anew: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    assert anew()
    monkeypatch.setattr(House, "today", lambda self: date.today() + timedelta(days=1))
    assert anew()


@pytest.mark.parametrize(
    "words",
    [
        ("report", "cost", *ASKED[2:]),
        ("report", "season", "cost", *ASKED[2:]),
        (*ASKED[:-1], "2026-03-30"),
        (*ASKED[:2], "--from", "2026-03-01", "--to", "2026-03-31"),
        (*ASKED, "--what-if", "price Fig Sour=12"),
    ],
    ids=["another report", "two reports", "other days", "another form", "a what-if"],
)
def test_what_is_asked_makes_it_anew(anew: Made, words: tuple[str, ...]) -> None:
    assert anew()
    assert anew(*words)
    assert not anew(*words)
    assert not anew()


def test_another_version_makes_it_anew(anew: Made, monkeypatch: pytest.MonkeyPatch) -> None:
    assert anew()
    monkeypatch.setattr("stillroom.__version__", "99")
    assert anew()


def test_a_store_that_somebody_changed_by_hand_makes_it_anew(house: House, anew: Made) -> None:
    assert anew()
    with duckdb.connect(str(house.store_path)) as con:
        con.execute("UPDATE till_day SET lines = lines + 1")
    assert anew()


@pytest.fixture
def plugin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The file beside a stranger's report that says what it finds."""
    beside = tmp_path / "beside_a_plugin.py"
    beside.write_text("FOUND = 'one'\n", encoding="utf-8")
    monkeypatch.syspath_prepend(tmp_path)

    def build(inputs: object) -> ReportResult:
        import beside_a_plugin  # type: ignore[import-not-found]

        if beside_a_plugin.FOUND == "nothing":
            raise ValueError("nothing")
        return ReportResult(findings=(Finding(sentence=beside_a_plugin.FOUND, evidence="none"),))

    own = Report(name="own", title="Own", question="What?", needs=(), build=build)
    collect = registry._collect

    def with_own(*given: object) -> object:
        things, owners, faults = collect(*given)  # type: ignore[arg-type]
        return (
            ({**things, "own": own}, {**owners, "own": "own"}, faults)
            if given[2] is Report
            else (things, owners, faults)
        )

    monkeypatch.setattr(registry, "_collect", with_own)
    yield beside
    sys.modules.pop("beside_a_plugin", None)


OWN = ("report", "own", *ASKED[2:])


def test_code_of_a_plugin_makes_it_anew_even_where_only_a_helper_of_it_changed(anew: Made, plugin: Path) -> None:
    assert anew(*OWN)
    assert not anew(*OWN)
    before = plugin.stat()
    plugin.write_text("FOUND = 'two'\n", encoding="utf-8")
    os.utime(plugin, ns=(before.st_atime_ns, before.st_mtime_ns))  # nor can its old time hide it
    sys.modules.pop("beside_a_plugin")
    assert anew(*OWN)


def test_code_that_changed_since_the_process_began_is_not_trusted(
    anew: Made, plugin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_answers, "BEGAN", plugin.stat().st_mtime_ns - 1)
    assert anew(*OWN)
    assert anew(*OWN)


def test_an_answer_of_which_a_part_failed_is_not_kept(house: House, anew: Made, plugin: Path) -> None:
    plugin.write_text("FOUND = 'nothing'\n", encoding="utf-8")
    words = ("report", "own", "season", *ASKED[2:])
    assert anew(*words)
    assert anew(*words)
    assert "Report 'own' of plugin 'own' failed" in command(*words, house=house).err


def test_another_plugin_makes_it_anew(anew: Made, request: pytest.FixtureRequest) -> None:
    assert anew()
    request.getfixturevalue("plugin")
    assert anew()


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"state": 1, "code": {}, "texts": {}}', b"\xff"])
def test_a_damaged_one_is_made_anew(house: House, anew: Made, content: bytes) -> None:
    assert anew()
    [kept] = (house.folder / kept_answers.FOLDER).iterdir()
    kept.write_bytes(content)
    assert anew()
    assert not anew()


def test_where_nothing_can_be_kept_the_answer_is_the_same(house: House, anew: Made) -> None:
    (house.folder / kept_answers.FOLDER).write_text("in the way", encoding="utf-8")
    assert anew()
    assert anew()


def test_those_of_another_state_go_and_no_more_than_some_stay(
    house: House, anew: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(kept_answers, "MOST", 2)
    for day in ("2026-03-29", "2026-03-30", "2026-03-31"):
        assert anew(*ASKED[:-1], day)
    folder = house.folder / kept_answers.FOLDER
    assert len([*folder.iterdir()]) == 2
    put(house.folder, "sale/2.csv", [good("sale", sold_at="2026-03-03 20:00")])
    take_in(house)
    assert anew()
    assert len([*folder.iterdir()]) == 1


def test_the_prep_list_is_kept_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec")])
    put(tmp_path, "sale/1.csv", [good("sale", sold_at=f"2026-03-{day:02} 20:00") for day in range(1, 29)])
    take_in(house)
    monkeypatch.setattr(kept_answers, "BEGAN", time.time_ns() + 10**12)
    first = command("prep-list", house=house)
    assert first.code == 0
    monkeypatch.setattr(prep_list_of, "prep_list", None)  # from here on none can be worked out
    assert command("prep-list", house=house) == first
    for words in (("--date", "2026-03-30"), ("--days", "2"), ("--format", "csv")):
        assert command("prep-list", *words, house=house).code == 2
