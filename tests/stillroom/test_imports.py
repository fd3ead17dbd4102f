"""Heavy libraries are imported only where they are used: what a command costs before it begins."""

from __future__ import annotations

import subprocess
import sys

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
