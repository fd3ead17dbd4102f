"""What users and contributors are told holds all that there is, and nothing that is not."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
import typer

from house_builder import HOUSE, plugins
from stillroom import cli
from stillroom.errors import SettingsError
from stillroom.house.new_house import write_house
from stillroom.house.prep_settings import prep_settings
from stillroom.house.settings import house_of
from stillroom.house.special_days import special_days
from stillroom.objects import HouseFacts
from stillroom.plugins import hookspecs
from stillroom_plugins.reports._allowed_loss import allowed_loss
from stillroom_plugins.reports.panel.options import panel_options

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
CONTRIBUTORS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
SETTINGS = (ROOT / "docs" / "settings.md").read_text(encoding="utf-8")


def commands(group: typer.core.TyperCommand | typer.core.TyperGroup, *words: str) -> Iterator[tuple[str, set[str]]]:
    """Every command as it is typed, with its options."""
    if isinstance(group, typer.core.TyperGroup):
        for name, command in group.commands.items():
            yield from commands(command, *words, name)  # type: ignore[arg-type]
    else:
        yield " ".join(words), {option for given in group.params for option in given.opts}


COMMANDS = dict(commands(typer.main.get_command(cli._app())))  # type: ignore[arg-type]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_names_every_command(command):
    assert re.search(rf"\bstillroom {command}\b", README)


def test_the_readme_names_every_report():
    for name in plugins().reports:
        assert f"| `stillroom report {name}` | " in README


def test_no_command_or_option_is_named_that_is_not_there():
    text = README + SETTINGS
    named = set(re.findall(r"`(?:\.venv/bin/)?stillroom ([a-z-]+)", text))
    named |= set(re.findall(r"^ +(?:\.venv/bin/)?stillroom ([a-z-]+)", text, re.M))
    assert len(named) >= 10
    assert named <= {command.split()[0] for command in COMMANDS}
    options = set(re.findall(r"--[a-z]+", text))
    assert options
    assert options <= {option for all_of in COMMANDS.values() for option in all_of}


def test_a_new_house_says_what_events_do_to_a_batch(tmp_path):
    write_house(tmp_path / "house", plugins())
    guide = " ".join((tmp_path / "house" / "GUIDE.md").read_text(encoding="utf-8").split())
    for rule in (
        "with an amount takes that much, and the batch goes on",
        "after all else that happened on that day",
        "A count after a loss without an amount tells how much that loss took",
        "An amount that cannot be",
    ):
        assert rule in guide


def test_contributors_are_told_of_every_hook():
    hooks = [name for name, _ in inspect.getmembers(hookspecs, inspect.isfunction) if name.startswith("register_")]
    assert len(hooks) == 4
    for hook in hooks:
        returns = inspect.get_annotations(getattr(hookspecs, hook))["return"]
        assert f"| `{hook}()` | `{returns}` | " in CONTRIBUTORS


def test_every_module_and_folder_in_the_guide_for_contributors_is_there():
    engine = ROOT / "pipeline" / "stillroom"
    layout = CONTRIBUTORS.split("Inside the engine")[1].split("Imports run one way")[0]
    first_cells = re.findall(r"^\| (`.*?) \|", layout, re.M)
    named = [name for cell in first_cells for name in re.findall(r"`([a-z_/]+)", cell)]
    assert len(named) >= 15
    for name in named:
        assert (engine / name.rstrip("/")).is_dir() or (engine / f"{name}.py").is_file(), name


TABLES_OF_SETTINGS = {
    "the file": "odd = 1\n" + HOUSE,
    "[house]": HOUSE + "odd = 1\n",
    "[[season]]": HOUSE + "[[season]]\nodd = 1\n",
    "[[source]]": HOUSE + "[[source]]\nodd = 1\n",
    "wide": HOUSE + '[[source]]\nname = "a"\nplugin = "b"\n[source.wide]\nodd = 1\n',
}


@pytest.mark.parametrize("where", TABLES_OF_SETTINGS)
def test_every_setting_is_documented(where, tmp_path):
    for setting in settings_there_are(lambda: house_of(TABLES_OF_SETTINGS[where], tmp_path)):
        assert documented(setting), setting


def test_every_setting_of_a_report_is_documented():
    odd = {"odd": 1}
    house = HouseFacts(name="The Test Room", currency="EUR", options={"prep-list": odd, "demand": odd, "expiry": odd})
    for table, read in {
        "prep-list": lambda: prep_settings(house),
        "demand": lambda: special_days(house),
        "panel": lambda: panel_options(odd),
        "expiry": lambda: allowed_loss(house),
    }.items():
        for setting in settings_there_are(read):
            assert re.search(rf"`\[+report\.{table}(\] {setting}|\.{setting}\]+)`", SETTINGS), (table, setting)


def test_every_number_that_a_report_reads_from_the_settings_is_documented():
    modules = [*ROOT.glob("pipeline/**/*.py"), *ROOT.glob("plugins/**/*.py")]
    code = "\n".join(path.read_text(encoding="utf-8") for path in modules)
    read = set(re.findall(r'number_option\([^,]+, [^,]+, "(\w+)"', code))
    assert "work_per_making" in read
    for setting in read:
        assert re.search(rf"`\[report\.[a-z-]+\] {setting}`", SETTINGS), setting


def settings_there_are(read) -> list[str]:
    """What the complaint about a setting that is not known says that there is."""
    with pytest.raises(SettingsError, match="has no setting 'odd'; there are: ") as complaint:
        read()
    return str(complaint.value).rstrip(".").split("there are: ")[1].split(", ")


def documented(setting: str) -> bool:
    """As a setting of its own, a table of its own, or a key within one."""
    return re.search(rf"`{setting}`|\[+(source\.)?{setting}[\].]|\{{[^}}]*\b{setting} =", SETTINGS) is not None


def test_every_source_plugin_is_named_in_the_settings():
    for name in plugins().sources:
        assert f"`{name}`" in SETTINGS


def test_a_new_house_says_of_every_column_what_it_is(tmp_path):
    write_house(tmp_path / "house", plugins())
    guide = (tmp_path / "house" / "GUIDE.md").read_text(encoding="utf-8")
    for table in plugins().tables.values():
        part = guide.split(f"\n### {table.name}: ")[1].split("\n### ")[0]
        columns = list(table.schema().columns)
        said = dict(re.findall(r"^- `(\w+)`: (.+)$", part, re.M))
        assert list(said) == columns
        assert all(re.match(r"(?!None)[^;]{3}", text) for text in said.values()), said
        headings = pl.read_csv(tmp_path / "house" / table.name / f"{table.name}.csv", infer_schema=False).columns
        assert headings == columns


def test_contributors_are_told_the_job_of_every_module():
    engine = Path(cli.__file__).parent.parent
    modules = {path.stem for path in engine.glob("*.py")} | {path.parent.name for path in engine.glob("*/__init__.py")}
    modules = {name for name in modules if not name.startswith("_")} - {"stillroom"}
    table = CONTRIBUTORS[CONTRIBUTORS.index("| module | job |") :].split("\n\n")[0]
    assert modules
    assert modules <= {name.rstrip("/") for name in re.findall(r"`([\w/]+)`", table)}
