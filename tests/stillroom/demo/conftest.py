from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from stillroom.demo import write_demo

SOURCE_TABLES = {
    "till-export": "sale",
    "tasting-sheet": "tasting",
    "trial-sheet": "trial",
    "price-list": "ingredient",
    "till-match": "till_match",
}
"""The table that a plugin fills where the settings do not say which."""


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "house"
    write_demo(folder)
    return folder


def _sources(folder: Path) -> list[dict[str, Any]]:
    """The sources that the settings name, as they stand there."""
    sources: list[dict[str, Any]] = tomllib.loads((folder / "stillroom.toml").read_text(encoding="utf-8"))["source"]
    return sources


@pytest.fixture(scope="session")
def demo_texts(demo_folder: Path) -> dict[str, tuple[str, pl.DataFrame]]:
    """File -> (table, its rows as text with the table's column names and row_number)."""
    texts = {}
    for source in _sources(demo_folder):
        for pattern in source["files"]:
            for path in sorted(demo_folder.glob(pattern)):
                rows = pl.read_csv(path, infer_schema=False)
                rows = rows.rename({heading: column for column, heading in source.get("columns", {}).items()})
                table = source.get("table") or SOURCE_TABLES[source["plugin"]]
                name = path.relative_to(demo_folder).as_posix()
                texts[name] = (table, rows.with_row_index("row_number", offset=2))
    return texts
