"""What users and contributors are told holds all that there is, and nothing that is not."""

from __future__ import annotations

import inspect
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
import typer
from docs.making import PARTS, pages
from docs.making.findings import places

from house_builder import plugins
from stillroom import cli, model
from stillroom.house.model import HouseTable, Season, SourceSettings, Wide, report_tables
from stillroom.house.new_house import write_house
from stillroom.plugins import hookspecs

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


COMMANDS = dict(commands(typer.main.get_command(cli.app())))  # type: ignore[arg-type]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_readme_names_every_command(command):
    assert re.search(rf"\bstillroom {command}\b", README)


def test_the_readme_names_every_report():
    for name, report in plugins().reports.items():
        group = "group " if report.grain == "group" else ""
        assert f"| `stillroom {group}report {name}` | " in README


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
    assert len(hooks) == 5
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


def test_every_page_says_what_the_code_says():
    assert [path.name for path, text, made in pages() if text != made] == [], "run 'make docs'"


def test_every_part_that_the_code_makes_has_its_place():
    text = "".join(text for _, text, _ in pages())
    assert {*re.findall(r"<!-- made: (.+?) -->", text)} == {*PARTS}


def test_the_pages_are_built_without_a_warning_and_fetch_nothing(tmp_path):
    pytest.importorskip("zensical")
    shutil.copytree(ROOT / "docs", tmp_path / "docs", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "zensical.toml", tmp_path)
    built = subprocess.run(
        [sys.executable, "-m", "zensical", "build", "--strict"], cwd=tmp_path, capture_output=True, text=True
    )
    assert built.returncode == 0, built.stdout + built.stderr
    pages_made = list((tmp_path / "build" / "site").rglob("*.html"))
    assert {"settings.html", "index.html"} <= {page.name for page in pages_made}
    assert not list((tmp_path / "build" / "site").rglob("*.py"))
    for page in pages_made:
        assert not re.search(r'<(script|link|img)[^>]+(src|href)="?(https?:)?//', page.read_text(encoding="utf-8")), (
            page
        )


def test_every_setting_has_a_meaning():
    models = [HouseTable, Season, SourceSettings, Wide, *report_tables(plugins()).values()]
    for one in models:
        for name, field in one.model_fields.items():
            assert field.description, (one, name)


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


def test_the_reference_lists_every_view_and_column_and_every_command():
    views = (ROOT / "docs" / "reference" / "views.md").read_text(encoding="utf-8")
    for view in model.views():
        part = views.split(f"\n### {view.name}\n")[1].split("\n### ")[0]
        assert set(view.columns) <= {*re.findall(r"^\| `(\w+)` \|", part, re.M)}, view.name
    told = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    assert {*re.findall(r"^## stillroom (.+)$", told, re.M)} == {*COMMANDS}


def test_every_place_that_makes_a_finding_is_listed_with_what_it_says() -> None:
    page = (ROOT / "docs" / "reference" / "findings.md").read_text(encoding="utf-8")
    for path, function in places():
        report = page.partition(f"## {path.split('/')[3]}\n")[2].partition("\n## ")[0]
        assert f"| `{function}` |" in report, f"{path}: `python -m docs.making.findings` writes the page anew"
