"""Heavy libraries are imported only where they are used: what a command costs before it begins."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = (
    *("polars", "duckdb", "pandera", "pandas", "altair", "scipy", "statsmodels", "pint", "jinja2", "selenium", "typst"),
    *("pydantic", "tomlkit", "numpy", "pyarrow", "typeguard"),
    *("pyspark", "deltalake", "sqlglot", "fsspec"),
)


def imported_by(program: str) -> set[str]:
    """Which of the heavy libraries a program leaves imported."""
    asked = f"{program}\nimport sys\nprint(*(set({HEAVY}) & sys.modules.keys()))"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


@pytest.mark.parametrize(
    ("program", "needed"),
    [
        ("import stillroom.cli", set()),
        ("from stillroom.plugins.registry import load_registry; load_registry()", {"pydantic"}),
        ("import stillroom.store.opening, stillroom.answers.reporting", {"polars", "pydantic"}),
        ("import stillroom_schemas.fields", {"polars", "pandera", "pydantic"}),
        ("import stillroom.intake.corrections, stillroom.intake.doubtful", {"polars", "pydantic"}),
    ],
)
def test_no_more_is_imported_than_a_command_needs(program: str, needed: set[str]) -> None:
    assert imported_by(program) <= needed


NOT_FOR_A_PAGE = (
    *("altair", "narwhals", "jsonschema", "scipy.stats", "scipy.optimize", "scipy.linalg", "scipy.sparse"),
    *("pandas", "pandera", "statsmodels", "selenium"),
)


def test_the_page_of_a_house_is_built_without_what_it_has_no_need_of(demo_house: Path) -> None:
    """The page of all reports is kept with every module that was loaded when it was built."""
    loaded = [Path(file).as_posix() for file in json.loads((demo_house / "page-modules.json").read_bytes())]

    def used(library: str) -> bool:
        return any(f"/{library.replace('.', '/')}/__init__.py" in file for file in loaded)

    assert all(map(used, ("polars", "scipy.special", "stillroom_reports")))
    assert not list(filter(used, NOT_FOR_A_PAGE))
