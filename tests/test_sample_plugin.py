"""A stranger's plugin package, installed beside Stillroom, goes the whole way."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from house_builder import HOUSE, SOURCES, good, make_house, put

PACKAGE = Path(__file__).parent / "sample_plugin"
GUIDE = Path(__file__).parent.parent / "DEVELOPERS.md"
SOURCE = '[[source]]\nname = "cellar"\nplugin = "cellar-log"\nfiles = ["cellar/*.csv"]\n'
DAYS = ("--from", "2026-03-02", "--to", "2026-03-04")
READINGS = "read_at,celsius\n2026-03-02 09:00,6.5\n2026-03-03 09:00,cold\n2026-03-04 09:00,9.5\n"


def installed(package: Path, folder: Path) -> Path:
    """What an installer leaves behind: the module, and a dist-info folder with its entry points. No network needed."""
    project = tomllib.loads((package / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    about = folder / f"{project['name'].replace('-', '_')}-{project['version']}.dist-info"
    about.mkdir(parents=True)
    name_and_version = f"Metadata-Version: 2.1\nName: {project['name']}\nVersion: {project['version']}\n"
    (about / "METADATA").write_text(name_and_version, encoding="utf-8")
    points = project.get("entry-points", {}).get("stillroom", {})
    lines = ["[stillroom]", *(f"{name} = {module}" for name, module in points.items())]
    (about / "entry_points.txt").write_text("\n".join(lines), encoding="utf-8")
    for module in package.glob("*.py"):
        shutil.copy(module, folder)
    return folder


@pytest.fixture
def stillroom(tmp_path):
    """Runs the real command, with packages from `site` installed beside."""

    def run(*words: object) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "stillroom", *map(str, words), "--house", str(tmp_path / "house")],
            env={**os.environ, "PYTHONPATH": f"{tmp_path / 'site'}{os.pathsep}{os.environ.get('PYTHONPATH', '')}"},
            capture_output=True, text=True, check=False,
        )  # fmt: skip

    make_house(tmp_path / "house", settings=HOUSE + SOURCES + SOURCE)
    put(tmp_path / "house", "cellar/cellar.csv", READINGS)
    cordial = good("spec", spec="Fig Cordial", kind="preparation", yield_amount="650", yield_unit="ml")
    put(tmp_path / "house", "spec/spec.csv", [good("spec"), cordial])
    put(tmp_path / "house", "spec_line/spec_line.csv", [good("spec_line", spec="Fig Cordial")])
    return run


def test_its_rows_land_its_report_is_on_the_page_and_its_caution_beside_the_spec(stillroom, tmp_path):
    installed(PACKAGE, tmp_path / "site")  # no table of our own has a dated row: its report stands by itself
    taken_in = stillroom("intake")
    assert taken_in.returncode == 1
    assert "cellar/cellar.csv: 2 rows landed in cellar, 1 set aside" in taken_in.stdout
    set_aside = stillroom("aside")
    assert "row 3" in set_aside.stdout
    assert "celsius cannot be read as a number" in set_aside.stdout
    reported = stillroom("report", "cellar", "--format", "json")
    (report,) = json.loads(reported.stdout)["reports"]
    assert "1 of 2 readings were above 8 °C." in [finding["sentence"] for finding in report["findings"]]
    spec = stillroom("spec", "Fig Cordial")
    assert "! Cellar: Keep it below the cellar's limit." in spec.stdout
    assert taken_in.stderr + reported.stderr + spec.stderr == ""


def test_a_faulty_one_is_named_and_the_rest_goes_on(stillroom, tmp_path):
    site = installed(PACKAGE, tmp_path / "site")
    module = site / "cellar_plugin.py"
    text = module.read_text(encoding="utf-8")
    module.write_text(text.replace("import polars", "import a_library_that_is_not_there"), encoding="utf-8")
    taken_in = stillroom("intake")
    assert "Plugin 'cellar' does not import (ModuleNotFoundError" in taken_in.stderr
    assert "Traceback" not in taken_in.stderr
    assert "spec/spec.csv: 2 rows landed in spec" in taken_in.stdout


def test_one_that_changes_its_table_stops_its_own_files_alone(stillroom, tmp_path):
    module = installed(PACKAGE, tmp_path / "site") / "cellar_plugin.py"
    stillroom("intake")
    column = '    shelf: str = fields.text("which shelf", optional=True)\n'
    text = module.read_text(encoding="utf-8")
    module.write_text(text.replace("\n\n\n@hookimpl", f"\n{column}\n\n@hookimpl", 1), encoding="utf-8")
    put(tmp_path / "house", "cellar/later.csv", "read_at,celsius\n2026-03-05 09:00,6.5\n")
    put(tmp_path / "house", "sale/sale.csv", [good("sale", quantity="3")])
    taken_in = stillroom("intake")
    assert taken_in.returncode == 1
    assert "sale/sale.csv: 1 row landed in sale" in taken_in.stdout
    for name in ("cellar", "later"):
        assert f"cellar/{name}.csv: its plugin has changed the columns of cellar" in taken_in.stderr + taken_in.stdout
    assert "Traceback" not in taken_in.stderr
    reported = stillroom("report", "cellar", "--format", "json", *DAYS)
    assert reported.stdout, reported.stderr
    assert json.loads(reported.stdout)["reports"][0]["findings"][0]["sentence"].startswith("1 of 2 readings")


def test_the_plugins_in_the_guide_for_contributors_work_as_packages_of_their_own(stillroom, tmp_path):
    modules = re.findall(r"```python\n# (\w+)\.py\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.S)
    assert [name for name, text in modules if "@hookimpl" in text] == ["cellar_source", "cellar_table", "top_report"]
    for name, text in modules:
        package = tmp_path / name
        package.mkdir()
        (package / f"{name}.py").write_text(text, encoding="utf-8")
        point = f'[project.entry-points.stillroom]\n{name} = "{name}"\n' if "@hookimpl" in text else ""
        (package / "pyproject.toml").write_text(f'[project]\nname = "{name}"\nversion = "1.0"\n{point}')
        installed(package, tmp_path / "site")
    put(tmp_path / "house", "sale/sale.csv", [good("sale", quantity="3")])
    taken_in = stillroom("intake")
    assert "cellar/cellar.csv: 2 rows landed in cellar, 1 set aside" in taken_in.stdout
    asked = "from stillroom.plugins.registry import load_registry as load; print(load().tables['cellar'])"
    seen = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", asked],
        env={**os.environ, "PYTHONPATH": f"{tmp_path / 'site'}{os.pathsep}{os.environ.get('PYTHONPATH', '')}"},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "cellar_model:Cellar" in seen.stdout
    assert not re.search(r"\| +(pandera|polars|cellar_model|top_drinks)$", seen.stderr, re.M)
    (tmp_path / "site" / "cellar_model.py").write_text("import a_library_that_is_not_there\n", encoding="utf-8")
    put(tmp_path / "house", "sale/more.csv", [good("sale", sold_at="2026-03-04 21:00")])
    again = stillroom("intake")
    assert "sale/more.csv: 1 row landed in sale" in again.stdout
    assert "cellar.csv: plugin 'cellar-log' fills a table 'cellar', whose model is no pandera model" in again.stderr
    assert "Traceback" not in again.stderr
    top = stillroom("report", "top", "--format", "json", *DAYS)
    (report,) = json.loads(top.stdout)["reports"]
    assert taken_in.stderr + top.stderr == ""
    assert report["findings"][0]["sentence"] == "Fig Sour sold most: 4 serves."
