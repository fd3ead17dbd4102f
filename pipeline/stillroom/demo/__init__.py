"""An invented house with a season of 13 weeks, made from a seed; what is true of it stands in `truths`."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import TYPE_CHECKING

from stillroom.files import new_folder
from stillroom.house.house import SETTINGS_NAME

if TYPE_CHECKING:
    from stillroom.demo.houses import House
    from stillroom.demo.model import Row


def write_demo(folder: Path, seed: int = 2026, house: House | None = None) -> None:
    """Write the demo house into a folder, which is created; the same seed gives the same bytes.

    `house`: another than the demo house.

    Raises:
        UsageError: the folder is there and is not empty, or cannot be written to.
    """
    from stillroom.demo.houses import House
    from stillroom.demo.settings import HOUSE, settings_text

    house = house or House(name=HOUSE)
    with new_folder(folder, "demo house"):
        for name, rows in _files(seed, house).items():
            _write(folder / name, rows)
        (folder / SETTINGS_NAME).write_text(settings_text(house.name), encoding="utf-8", newline="\n")


def _files(seed: int, house: House) -> dict[str, list[Row]]:
    """Every file of the house, by its name in the folder."""
    import numpy as np

    from stillroom.demo import evenings, larder, mishaps, sittings, specs, stock, till

    # a stream of its own for each part: a change in one leaves the others as they are
    selling, mistyping, making, tasting, trying = (np.random.default_rng([seed, part]) for part in range(5))
    lines = evenings.season(selling, house)
    batches, events = stock.batch_book(lines, making, house)
    files: dict[str, list[Row]] = {
        "specs/specs.csv": house.book.spec_rows(),
        "specs/spec-lines.csv": specs.line_rows(),
        f"prices/{larder.FIRST_PRICES}.csv": larder.first_prices(),
        f"prices/{larder.NEW_PRICES}.csv": larder.new_prices(),
        "match/till-match.csv": till.matches(),
        **till.weekly_files(lines, mistyping),
        **sittings.tasting_files(tasting),
        **sittings.trial_files(trying),
        "batches/batches.csv": batches,
        "batches/batch-events.csv": events,
    }
    mishaps.put_in(files)
    return files


def _write(path: Path, rows: list[Row]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
