from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from stillroom.demo import write_demo
from stillroom.house import load_house

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


@pytest.fixture(scope="session")
def demo_texts(demo_folder: Path) -> dict[str, tuple[str, pl.DataFrame]]:
    """File -> (table, its rows as text with the table's column names and row_number)."""
    texts = {}
    for source in load_house(demo_folder).sources:
        for pattern in source.files:
            for path in sorted(demo_folder.glob(pattern)):
                rows = pl.read_csv(path, infer_schema=False)
                rows = rows.rename({heading: column for column, heading in source.columns.items()})
                table = source.table or SOURCE_TABLES[source.plugin]
                name = path.relative_to(demo_folder).as_posix()
                texts[name] = (table, rows.with_row_index("row_number", offset=2))
    return texts
