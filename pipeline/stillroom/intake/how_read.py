"""How a planned file is read, as the settings of its source and of the house say it."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import TYPE_CHECKING

from stillroom.errors import FileRefused
from stillroom.house.house import House
from stillroom.house.model import WHOLE_DAYS, SourceSettings
from stillroom.intake.checking import Wording
from stillroom.intake.moments import Clock
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    from stillroom.intake.planning import Plan


def clock_of(settings: SourceSettings, house: House) -> Clock:
    """How dates and times of a source's files are read."""
    return Clock(
        date_format=settings.date_format,
        house_zone=house.time_zone,
        file_zone=settings.time_zone,
        evening_ends=house.day_starts_at if settings.dates_are == "business days" else None,
        day_begins=house.day_starts_at if settings.dates_are == WHOLE_DAYS else None,
        year=settings.year,
        year_turns=settings.year_turns,
    )


def wording(plan: Plan, house: House) -> Wording:
    """How its cells are written, as far as checking them needs to know."""
    return Wording(
        table=plan.table,
        layout=plan.layout,
        settings=plan.settings,
        fills=_fills(plan.table, house),
        clock=clock_of(plan.settings, house),
        venues=house.venues if house.only_venue is None else (),
    )


def in_short(plan: Plan, house: House) -> str:
    """A short text that changes when a file would be read in another way."""
    settings = plan.settings
    facts = {
        **settings.model_dump(),
        "files": None,
        "kept": None,
        "sheet": plan.file.sheet if settings.sheet else None,
        "house_time_zone": house.time_zone,
        "venue": house.only_venue or house.venues,
        "beside": [_held(plan, path) for path in plan.source.beside_of(plan.file.path)],
    }
    if settings.dates_are is not None:
        facts["evening_ends"] = str(house.day_starts_at)
    # Without what is not said, so that a setting that is new in Stillroom changes no reading.
    said = {name: fact for name, fact in facts.items() if fact not in (None, (), [], {})}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:16]


def _fills(table: Table, house: House) -> dict[str, object]:
    """What an empty cell means, column by column; an empty venue means the only venue there is."""
    columns = table.schema().columns
    fills = {n: c.metadata["default"] for n, c in columns.items() if (c.metadata or {}).get("default") is not None}
    if table.fills_venue and house.only_venue is not None:
        fills["venue"] = house.only_venue
    return fills


def _held(plan: Plan, beside: Path) -> str:
    try:
        return beside.read_bytes().hex()
    except OSError as error:
        what = f"{beside.name} is read with it, and cannot be read ({error.strerror or error})"
        raise FileRefused(f"{plan.file.name}: {what}.") from None
