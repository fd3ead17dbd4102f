"""Starting a house: settings with a comment on each, a blank template for every table, and a short guide."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from stillroom.answers.panel_plan.resolving import PANEL_FOLDER, SHEET_ENDING, SHEET_KINDS
from stillroom.files import new_folder
from stillroom.house.house import SETTINGS_NAME
from stillroom.house.json_schema import FIRST_LINE, write_schema
from stillroom.house.template_book import described, template
from stillroom.plugins.registry import Registry, unfit_model
from stillroom_schemas.table import Table

SETTINGS: Final = (
    FIRST_LINE
    + """
# Settings of this house. Lines that begin with # are notes; delete the # to switch a setting on.

[house]
name = "{name}"
currency = "EUR"            # shown beside money; nothing is converted
time_zone = "UTC"           # such as "Europe/Lisbon"; times with an offset are moved to it
day_starts_at = "06:00"     # a sale before this hour belongs to the evening before
# venues = ["Front bar", "Terrace"]   # when there is more than one; a till line must then say which

# Seasons: reports look at one of them. Without any, at everything taken in.
# [[season]]
# name = "Spring"
# from = 2026-03-02
# to = 2026-05-31

# Sources: which plugin reads which files. `files` are patterns inside this folder.
# Headings that differ from the templates' are mapped: column = "heading in the file".
"""
)

SOURCE: Final = """
[[source]]
name = "{name}"
plugin = "{plugin}"
table = "{table}"
files = [{files}]
"""

PANELS: Final = ("tasting", "trial")
"""What the sheets of a session hold that `stillroom panel plan` has drawn up."""

HINTS: Final = """\
# encoding = "cp1252"                  # when the files are not UTF-8
# separator = ";"                      # when cells are not parted by commas
# date_format = "%d/%m/%Y %H:%M"       # when dates are not like 2026-03-31 21:05
# [source.columns]
# sold_at = "Closed at"
# till_item = "Article"
"""

GUIDE: Final = """\
# {name}: how to begin

1. Open `{settings}` and set the house's name, currency, time zone and seasons.
2. Each folder here holds a blank template for one table, as CSV and as a workbook with drop-down lists and checks. Fill
   in one of them, or put your own files beside it: `stillroom look FILE` shows how a file is read and writes the
   settings for it. Nothing else about your files needs to change.
3. Run `stillroom intake`. Good rows land in the store; bad rows are set aside, and `stillroom aside` says why.
4. Run `stillroom match` and say what the till names are that no drink explains.
5. Run `stillroom report` and open `report.html`.

What the batch book means:

- A batch is used first made, first used, by what the till sold and the specs say; never after its use-by.
- `poured away` or `spoiled` with an amount takes that much, and the batch goes on; after its use-by it ends the batch.
  Without an amount it took all that was left, and ends the batch, as `used up` does; unless something is counted in it
  or lost of it later.
- `counted` says what is left, after all else that happened on that day; what sales and losses do not explain is then
  `unexplained`. A count after a loss without an amount tells how much that loss took.
- An amount that cannot be, such as 5 l poured away of 1 l made, is named in the report with its file and row. Until it
  is corrected, such a loss counts as all that was left, and such a count is left out. It is never put down to sales.

Your files are the truth: the store `stillroom.duckdb` can be deleted at any time and taken in again.

Figures about keeping, strength, acidity or allergens are help for a professional, not a clearance. Follow your local
code, and ask a licensed professional where it matters.

## The tables

{tables}"""


def write_house(folder: Path, registry: Registry) -> None:
    """Write a new house into `folder`.

    Raises:
        UsageError: the folder is there and is not empty, or cannot be written to.
    """
    name = folder.resolve().name.replace('"', "'").replace("\\", "/") or "My house"
    fillers = {table: source.name for source in registry.sources.values() for table in source.tables}
    tables = [table for table in registry.tables.values() if table.name in fillers and not unfit_model(table)]
    settings = SETTINGS.format(name=name)
    for table in tables:
        settings += SOURCE.format(
            name=table.name.replace("_", "-"), plugin=fillers[table.name], table=table.name, files=_files(table)
        )
        settings += HINTS if table.export else ""
    with new_folder(folder, "house"):
        for table in tables:
            (folder / table.name).mkdir()
            headings = ",".join(table.schema().columns) + "\n"
            (folder / table.name / f"{table.name}.csv").write_text(headings, encoding="utf-8")
            (folder / table.name / f"{table.name}.xlsx").write_bytes(template(table))
        guide = GUIDE.format(name=name, settings=SETTINGS_NAME, tables="\n".join(map(_described, tables)))
        (folder / "GUIDE.md").write_text(guide, encoding="utf-8")
        (folder / SETTINGS_NAME).write_text(settings, encoding="utf-8")
        write_schema(folder, registry)


def _files(table: Table) -> str:
    sheets = f"{PANEL_FOLDER}/*{SHEET_ENDING}"
    names = [table.name + "/*", *([sheets] if table.name in PANELS else [])]
    return ", ".join(f'"{name}.{kind}"' for name in names for kind in SHEET_KINDS)


def _described(table: Table) -> str:
    lines = [f"### {table.name}: {table.title}\n"]
    lines += [f"- `{name}`: {described(column)}" for name, column in table.schema().columns.items()]
    return "\n".join(lines) + "\n"
