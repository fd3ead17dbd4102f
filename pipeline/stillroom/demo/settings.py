"""The demo house's settings file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from stillroom.demo.sittings import SHEET_HEADINGS
from stillroom.demo.till import HEADINGS
from stillroom.demo.truths import FIRST_DAY, LAST_DAY

HOUSE: Final = "The Tidewrack Room"
"""An invented house in an invented harbour town, Skarnhaven."""

_HOUSE: Final = """\
# Settings of this house. Lines that begin with # are remarks.

[house]
name = "{house}"            # heads every page; also the venue, as there is only one
currency = "EUR"                       # of all prices and takings
time_zone = "Europe/Amsterdam"         # of the times in the till's export
day_starts_at = "06:00"                # a drink sold at 01:30 belongs to the evening before
standard_drink = "IE"                  # whose standard drink the alcohol in a serve is counted in

# A season: reports look at one with --season NAME. Both days are part of it.
[[season]]
name = "Autumn 2026"
from = {first}
to = {last}

# What a report may be told. A version whose liking is at most this many points lower counts as as good.
[report.panel]
margin = 0.5

# Each [[source]] is a kind of file that is taken in: which plugin reads it, and where it lies.
# [source.columns] says what a column is called in the files, where that differs: column = "heading".
"""


def settings_text(house: str) -> str:
    """The text of stillroom.toml, of a house of this name."""
    sources = [
        _source("specs", "spec-book", "specs/specs.csv", "drinks, preparations and garnishes by version", table="spec"),
        _source("spec lines", "spec-book", "specs/spec-lines.csv", "what goes into each", table="spec_line"),
        _source("prices", "price-list", "prices/*.csv", "what is bought; a price holds until the next"),
        _source("matches", "till-match", "match/till-match.csv", "what the till's spellings stand for"),
        _source("till", "till-export", "till/till-*.csv", "a file a week, and a corrected one", columns=HEADINGS),
        _source("tastings", "tasting-sheet", "tastings/*.csv", "a sheet a sitting", columns=SHEET_HEADINGS),
        _source("trials", "trial-sheet", "trials/*.csv", "difference and preference tests"),
        _source("batches", "batch-book", "batches/batches.csv", "what was made", table="batch"),
        _source("batch events", "batch-book", "batches/batch-events.csv", "what became of it", table="batch_event"),
    ]
    return _HOUSE.format(house=house, first=FIRST_DAY, last=LAST_DAY) + "".join(sources)


def _source(
    name: str,
    plugin: str,
    files: str,
    remark: str,
    *,
    table: str | None = None,
    columns: Mapping[str, str] | None = None,
) -> str:
    text = f'\n[[source]]  # {remark}\nname = "{name}"\nplugin = "{plugin}"\nfiles = ["{files}"]\n'
    if table:
        text += f'table = "{table}"\n'
    if columns:
        text += "[source.columns]\n" + "".join(f'{column} = "{heading}"\n' for column, heading in columns.items())
    return text
