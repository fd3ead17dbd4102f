"""`stillroom.toml`: what is wrong is told with its line and what would be right; plugins have settings of their own."""

from __future__ import annotations

import json
import re
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from pydantic import Field, field_validator

from house_builder import HOUSE, SOURCES, command, csv_text, good, make_house, plugins
from stillroom.demo import write_demo
from stillroom.errors import PluginError, SettingsError
from stillroom.house.base import Settings
from stillroom.house.complaints import line_of
from stillroom.house.json_schema import write_schema
from stillroom.house.new_house import write_house
from stillroom.house.report_settings import DemandSettings, PrepSettings
from stillroom.house.settings import house_of
from stillroom.objects import Report, ReportInputs, ReportResult
from stillroom.plugins.registry import Registry

SOURCE = '[[source]]\nname = "till"\nplugin = "till-export"\n'


WRONG = {
    "[report.panel]": (
        ('margin = "half"', 'margin must be a number above 0, not "half".'),
        ("margin = 0", "margin must be a number above 0, not 0."),
        ("margin = true", "margin must be a number above 0, not true."),
        ("alike_below = 1.0", "alike_below must be a number above 0 and below 1, not 1.0."),
        ("show_names = 1", "show_names must be true or false, not 1."),
        ("samples_at_most = 1", "samples_at_most must be a whole number not below 2, not 1."),
        ("margn = 1", "has no setting 'margn'; did you mean 'margin'?"),
    ),
    "[report.season]": (("split = true", "has no setting 'split'; it has none at all."),),
    "[report.expiry]": (("allowed_loss = 'little'", 'allowed_loss must be a number from 0 to 1, not "little".'),),
    "[report.demand]": (
        ("closed = ['Christmas']", 'closed must be a date like 2026-03-02, not "Christmas".'),
        ("closed = 3", "closed must be a list of dates such as [2026-12-24], not 3."),
        ("closed = [2026-12-24T10:00:00]", "closed must be a date like 2026-03-02, not 2026-12-24T10:00:00."),
        ("holiday = []", "has no setting 'holiday'; there are: closed, event."),
        ("event = ['fair']", 'event must be a table, not "fair".'),
    ),
    "[report.prep-list]": (
        ("work_per_making = -1", "work_per_making must be a number from 0 to 1,000,000, not -1."),
        ("next_making_days = 1.5", "next_making_days must be a whole number from 1 to 28, not 1.5."),
        ("most_makings = inf", "most_makings must be a number from 1 to 100, not inf."),
        ("parts = 3", "parts must be a table, not 3."),
    ),
    "[report.prep-list.parts]": (("fig = 'half'", 'fig must be a number from 0.01 to 1, not "half".'),),
    "[[source]]\nname = 'till'\nplugin = 'till-export'": (
        ('plugn = "x"', "has no setting 'plugn'; did you mean 'plugin'?"),
        ("tax_pct = true", "tax_pct must be a number from 0 to below 100, not true."),
        ("separator = 'tab'", 'separator must be one of ",", ";", "\\t", "|", not "tab".'),
        (
            "dates_are = 'nights'",
            'dates_are must be one of "business days", "calendar days", "whole days", not "nights".',
        ),
        ("encoding = 'utf-9'", "encoding 'utf-9' is not known; write utf-8, cp1252, ..."),
        ("time_zone = 'Lisbon'", "time_zone 'Lisbon' is not known; write it like 'Europe/Lisbon'."),
        ("files = 'till/*.csv'", 'files must be a list of texts, not "till/*.csv".'),
        ("names_end_at = [' ']", 'names_end_at must be a text, not " ".'),
        ("wide = { headings_are = 'venue' }", "wide needs 'cells_are'."),
        ("columns.sold_at = 5", "columns.sold_at must be a text or a list of texts, not 5."),
        ("columns.sold_at = []", "columns.sold_at must be a text or a list of texts, not []."),
        ("constants.venue = true", "constants.venue must be a text or a number, not true."),
    ),
    "[[season]]\nname = 'Spring'": (
        ("from = 'March'\nto = 2026-03-01", 'from must be a date like 2026-03-02, not "March".'),
    ),
}


@pytest.mark.parametrize(("table", "text", "said"), [(t, *case) for t, cases in WRONG.items() for case in cases])
def test_a_wrong_setting_is_told_with_its_line(tmp_path: Path, table: str, text: str, said: str) -> None:
    with pytest.raises(SettingsError) as refused:
        house_of(f"{HOUSE}# a remark\n\n{table}\n{text}\n", tmp_path, plugins())
    heading, *settings = table.splitlines()
    where = " ".join([heading, *(setting.removeprefix("name = ") for setting in settings[:1])])
    assert str(refused.value) == f"{tmp_path / 'stillroom.toml'}, line {7 + len(settings)}: {where} {said}"


SEASON = "[[season]]\nname = 'Spring'\nfrom = 2026-03-01\nto = 2026-05-31\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HOUSE + "[report.pannel]\nmargin = 1", ", line 4: [report] has no setting 'pannel'; did you mean 'panel'?"),
        (HOUSE + SOURCE + SOURCE, ", line 8: [[source]] 'till' name 'till' is given twice."),
        (HOUSE + "[[source]]\nname = 'till'", ", line 4: [[source]] 'till' needs 'plugin'."),
        (HOUSE + "[source]\nname = 'a'", ", line 4: [source] must be tables, each under its heading in two brackets,"),
        (
            HOUSE + "[[season]]\nname = 'Spring'\nfrom = 2026-03-02\nto = 2026-03-01",
            ", line 4: [[season]] 'Spring' to 2026-03-01 is before from 2026-03-02.",
        ),
        (
            HOUSE + "[[report.demand.event]]\ndays = [2026-12-05]",
            ", line 4: [[report.demand.event]] number 1 needs 'name'.",
        ),
        (
            HOUSE + "[[report.demand.event]]\nname = 'fair'\ndays = 2",
            ", line 6: [[report.demand.event]] 'fair' days must be a list of dates such as [2026-12-24], not 2.",
        ),
        ("report = 5\n" + HOUSE, ", line 1: report must be a table, not 5."),
        ("hose = 5\n" + HOUSE, ", line 1: the file has no setting 'hose'; did you mean 'house'?"),
        ("house = 5\n", ", line 1: house must be a table, not 5."),
        ("# nothing\n", ": house is missing."),
        ('[house]\nname = "A"\n', ", line 1: [house] needs 'currency'."),
        ('[house]\nname = ""\ncurrency = "EUR"\n', ', line 2: [house] name must be a text, not "".'),
        (HOUSE + "standard_drink = 'XX'", ", line 4: [house] standard_drink 'XX' is not known; there are: AU"),
        (HOUSE + "day_starts_at = 6", ', line 4: [house] day_starts_at must be a text like "06:00", not 6.'),
        (HOUSE + "day_starts_at = 'six'", ', line 4: [house] day_starts_at must be a text like "06:00", not "six".'),
        (HOUSE + "venues = ['a', 5]", ", line 4: [house] venues must be a text, not 5."),
        (HOUSE + SEASON + SEASON, ", line 9: [[season]] 'Spring' name 'Spring' is given twice."),
        (HOUSE + f"venues = {'[' * 9000}", " cannot be read: it is nested too deep."),
        (f"{HOUSE}{'a.' * 9000}b = 1", " cannot be read: it is nested too deep."),
        (HOUSE + f"plugin_seconds = {'9' * 5000}", " cannot be read: a number in it has too many digits."),
        (HOUSE + f"plugin_seconds = 0x{'f' * 5000}", " cannot be read: a number in it has too many digits."),
    ],
)
def test_what_is_wrong_with_the_house_or_the_whole(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(SettingsError) as refused:
        house_of(text, tmp_path, plugins())
    assert f"{tmp_path / 'stillroom.toml'}{said}" in str(refused.value)


@pytest.mark.parametrize(
    "text",
    [
        "{long} = 1",
        'time_zone = "{long}"',
        'standard_drink = "{long}"',
        SOURCE + 'date_format = "{long}"',
        SOURCE + 'encoding = "{long}"',
        SOURCE + 'venue_in_name = "{long}"',
        SOURCE.replace("till", "{long}", 1) + "year = 1",
    ],
)
def test_a_value_of_thousands_of_characters_is_cut_off(tmp_path: Path, text: str) -> None:
    with pytest.raises(SettingsError, match=f"{'x' * 60} [.]{{3}}'") as refused:
        house_of(HOUSE + text.replace("{long}", "x" * 5000), tmp_path, plugins())
    assert len(str(refused.value)) < 400


def test_a_wrong_setting_of_a_report_is_no_fault_of_its_plugin(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE + SOURCES, sale=csv_text([good("sale")]))
    (tmp_path / "stillroom.toml").write_text(HOUSE + SOURCES + '[report.panel]\nmargin = "half"\n', encoding="utf-8")
    for words in (("report", "panel"), ("intake",), ("prep-list",)):
        said = command(*words, house=house)
        assert said.code == 2
        assert said.err.strip().endswith('[report.panel] margin must be a number above 0, not "half".')


def test_settings_are_read(tmp_path: Path) -> None:
    house = house_of(
        HOUSE + "day_starts_at = 05:30:00\n[report.demand]\nclosed = [2026-12-24]\n"
        "[[report.demand.event]]\nname = 'fair'\ndays = [2026-12-05]\n[report.prep-list.parts]\nShrub = 1\n",
        tmp_path, plugins(),
    )  # fmt: skip
    assert (house.venues, house.day_starts_minutes) == (("The Test Room",), 330)
    calendar = house.facts.settings(DemandSettings).calendar()
    assert calendar.closed == {date(2026, 12, 24)}
    assert calendar.events == {date(2026, 12, 5): "fair"}
    assert [house.facts.settings(PrepSettings).part(name) for name in ("shrub", "fig")] == [1, 0.5]


def test_a_setting_that_runs_over_lines_stands_where_it_begins() -> None:
    text = '# "a" = [\n[a]\nb = """\nc = 1\n"""\n\nd = [\n  1,\n]\n'
    raw = {"a": {"b": "c = 1\n", "d": [1]}}
    assert [line_of(text, raw, path) for path in (("a",), ("a", "b"), ("a", "d"), ("a", "d", 0))] == [2, 3, 7, 7]
    assert [line_of(text, raw, path) for path in (("a", "e"), ("e",))] == [2, None]


class Warmth(Settings):
    limits: list[float] = Field(default=[8.0], description="°C")


def build(inputs: ReportInputs[Warmth]) -> ReportResult:
    return ReportResult(notes=(str(inputs.settings.limits),))


def with_report(faults: tuple[str, ...] = (), **more: Any) -> Registry:
    report = Report(name="cellar", title="T", question="Q?", needs=(), build=build, **more)
    return Registry(
        sources={}, tables={}, reports={"cellar": report}, cautions={}, ingredients={}, owners={}, faults=faults
    )


def test_a_plugins_report_is_handed_its_settings(tmp_path: Path) -> None:
    text = HOUSE + "[report.cellar]\nlimits = [7, 9.5]\n"
    found = house_of(text, tmp_path, with_report(settings=Warmth))
    assert found.reports["cellar"] == Warmth(limits=[7.0, 9.5])
    assert house_of(HOUSE, tmp_path, with_report(settings=Warmth)).reports["cellar"] == Warmth()


class Fragile(Settings):
    limit: float = 8.0

    @field_validator("limit")
    @classmethod
    def _known(cls, limit: float) -> float:
        return {8.0: 8.0}[limit]


def test_a_plugin_that_cannot_check_its_settings_is_named(tmp_path: Path) -> None:
    with pytest.raises(PluginError, match=r"\[report\.cellar\] cannot be checked: its plugin fails \(KeyError: 9\.0\)"):
        house_of(HOUSE + "[report.cellar]\nlimit = 9\n", tmp_path, with_report(settings=Fragile))
    assert house_of(HOUSE, tmp_path, with_report(settings=Fragile)).reports["cellar"] == Fragile()


def test_the_table_of_a_plugin_that_is_left_out_is_passed_over(tmp_path: Path) -> None:
    text = HOUSE + "[report.thermometer]\nlimits = [7]\n"
    found = house_of(text, tmp_path, with_report(("Plugin 'x' does not import",)))
    assert found.reports.keys() == {"cellar", "prep-list"}
    with pytest.raises(SettingsError, match="has no setting 'thermometer'; there are: cellar, prep-list"):
        house_of(text, tmp_path, with_report())
    with pytest.raises(SettingsError, match="has no setting 'celar'; did you mean 'cellar'"):
        house_of(HOUSE + "[report.celar]\n", tmp_path, with_report(("Plugin 'x' does not import",)))


def checker(folder: Path) -> Any:
    """The schema that a new house comes with, by a library for JSON Schema."""
    write_schema(folder, plugins())
    schema = json.loads((folder / "stillroom.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, format_checker=FormatChecker())


def as_json(text: str) -> Any:
    return json.loads(json.dumps(tomllib.loads(text), default=str))


def test_an_editor_finds_the_same_settings_wrong(tmp_path: Path) -> None:
    found = checker(tmp_path)
    for table, cases in WRONG.items():
        for text, _ in cases:
            raw = as_json(f"{HOUSE}{table}\n{text.replace('inf', '1e9')}\n")
            assert found.is_valid(raw) == text.startswith(("encoding", "time_zone")), text  # these only code can tell


def test_an_editor_finds_nothing_wrong_with_a_new_house_and_the_demo(tmp_path: Path) -> None:
    new, demo = tmp_path / "new", tmp_path / "demo"
    write_house(new, plugins())
    text = (new / "stillroom.toml").read_text(encoding="utf-8")
    assert text.startswith("#:schema ./stillroom.schema.json\n")
    uncommented = re.sub(r"^# (?=\[|\w+ = )", "", text, flags=re.MULTILINE)
    write_demo(demo)
    for settings in (text, uncommented, (demo / "stillroom.toml").read_text(encoding="utf-8")):
        house_of(settings, new, plugins())
        checker(tmp_path).validate(as_json(settings))
