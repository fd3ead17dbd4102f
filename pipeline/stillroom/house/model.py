"""The tables of `stillroom.toml`, with the meaning of each setting: the only place where they are written."""

from __future__ import annotations

from datetime import date, time
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationInfo,
    WithJsonSchema,
    create_model,
    model_validator,
)

from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
from stillroom.guarded import PATIENT
from stillroom.house import date_formats
from stillroom.house.base import Settings, Text
from stillroom.house.report_settings import MenuSettings, PrepSettings

if TYPE_CHECKING:
    from stillroom.plugins.registry import Registry


def _known_zone(name: str) -> str:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # no such zone; no name of one; a folder of them
        raise ValueError(f"'{name}' is not known; write it like 'Europe/Lisbon'") from None
    return name


def _known_drink(code: str) -> str:
    if code not in STANDARD_DRINKS:
        raise ValueError(f"'{code}' is not known; there are: {', '.join(STANDARD_DRINKS)}")
    return code


def _known_encoding(encoding: str) -> str:
    try:
        "".encode(encoding)
    except (LookupError, ValueError):  # no such encoding; no name of one
        raise ValueError(f"'{encoding}' is not known; write utf-8, cp1252, ...") from None
    return encoding


def _says_a_date(date_format: str, known: ValidationInfo) -> str:
    whole = date_format if known.data.get("year") is None else f"{date_format} %Y"
    if what := date_formats.fault(whole):
        raise ValueError(f"= '{date_format}' {what}; write it like '%d/%m/%Y' or '%d/%m/%Y %H:%M'")
    return date_format


def _holds_venue(pattern: str) -> str:
    if pattern.count("{venue}") != 1:
        raise ValueError(f"must hold {{venue}} once, like 'sales-{{venue}}-', not {pattern!r}")
    return pattern


def _several(value: object) -> object:
    return (value,) if isinstance(value, str) else tuple(value) if isinstance(value, list) else value


def _as_text(value: object) -> object:
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


# As people write it: the format "time" of JSON Schema wants seconds and an offset, too.
WHOLE_DAYS: Final = "whole days"
CLOCK: Final = {"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d(:[0-5]\d)?$", "examples": ["06:00"]}
Zone = Annotated[Text, AfterValidator(_known_zone)]
OneOrSeveral = BeforeValidator(_several, json_schema_input_type=str | Annotated[list[str], Field(min_length=1)])
Heading = Annotated[Text, AfterValidator(lambda heading: " ".join(heading.split()))]


class HouseTable(Settings):
    """The house."""

    name: Text = Field(description="the house's name")
    currency: Text = Field(description="shown beside money; nothing is converted")
    time_zone: Zone = Field(
        default="UTC",
        description='such as `"Europe/Lisbon"`; times with an offset are moved to it',
    )
    day_starts_at: Annotated[time, WithJsonSchema(CLOCK)] = Field(
        default=time(6), description="a sale before this hour belongs to the evening before"
    )
    venues: tuple[Text, ...] = Field(
        default=(),
        description="the venues; where there are several, a till line must say which, and one that is not named here "
        "is set aside; unless set, there is one, of the house's name",
    )
    standard_drink: (
        Annotated[
            Text,
            AfterValidator(_known_drink),
            WithJsonSchema({"type": "string", "enum": list(STANDARD_DRINKS)}),
        ]
        | None
    ) = Field(default=None, description="whose standard drink alcohol is also counted in; grams only unless set")
    paper: Literal["A4", "Letter"] = Field(
        default="A4", description="what hand-outs, prep lists and ballots are set for"
    )
    plugin_seconds: float = Field(
        default=PATIENT,
        gt=0,
        description="the longest that a plugin may take for a report, or for the next rows of a file, s; what takes "
        "longer is named and left out",
    )


class Season(Settings):
    """Days that reports look at."""

    name: Text = Field(description="what `--season` calls it")
    first: date = Field(alias="from", description="its first day")
    last: date = Field(alias="to", description="its last day")

    @model_validator(mode="after")
    def _runs_forward(self) -> Self:
        if self.last < self.first:
            raise ValueError(f"to {self.last} is before from {self.first}")
        return self


class Wide(Settings):
    """A file with a column for each day, panelist or item: every filled cell is a row."""

    headings_are: Text = Field(description="the column of the table that the headings of those columns give")
    cells_are: Text = Field(description="the column of the table that their cells give")


class SourceSettings(Settings):
    """Which plugin reads which files, and how they are written."""

    name: Text = Field(description="how messages and the ledger call it")
    plugin: Text = Field(description="the plugin that reads it, such as `till-export`, or one of yours")
    files: tuple[Text, ...] = Field(default=(), description='patterns inside the house, such as `["till/*.csv"]`')
    table: Text | None = Field(
        default=None, description="the table it fills, where the plugin fills several and the headings do not tell"
    )
    encoding: Annotated[Text, AfterValidator(_known_encoding)] = Field(
        default="utf-8", description='when a file is not UTF-8: `"cp1252"`, `"utf-16"`, ...'
    )
    separator: Literal[",", ";", "\t", "|"] | None = Field(
        default=None, description="what parts two cells; found from the headings unless set"
    )
    sheet: Annotated[tuple[Text, ...], OneOrSeveral] = Field(
        default=(),
        description='sheets of a workbook: a name, a list of names, or a pattern such as `"2026-*"` or `"*"` for all '
        "that are not hidden or empty; each is taken in as a file by itself, and what two of them tell twice counts "
        "once; unless set, the one sheet with the headings",
    )
    decimal: Literal[".", ","] | None = Field(
        default=None,
        description='`","` for 1.234,50, or `"."` for 1,234.50: the other mark then parts thousands; unless set, a '
        "dot parts decimals, and a number such as `1,234` is never guessed",
    )
    year: int | None = Field(
        default=None, ge=1900, le=2200, description="the year of dates written without one: of the first of them"
    )
    year_turns: bool | None = Field(
        default=None,
        description="whether such dates go over New Year: each is then of the year that makes it nearest to the one "
        "above it; unless set, dates of which that is open are set aside",
    )
    oz: Literal["fl oz", "imp fl oz", "bar oz", "oz"] | None = Field(
        default=None,
        description="what `oz` means in its files: a US, imperial or rounded (30 ml) fluid ounce, or, as unless set, "
        "the weight",
    )
    gallon: Literal["US", "imperial"] | None = Field(
        default=None, description="what `gallon`, `quart` and `pint` mean in its files: US, as unless set, or imperial"
    )
    date_format: Annotated[Text, AfterValidator(_says_a_date)] | None = Field(
        default=None,
        description='such as `"%d/%m/%Y %H:%M"` or `"%m/%d/%Y %I:%M %p"`; `%B` and `%b` read the names of months in '
        "Czech, Danish, Dutch, English, Finnish, French, German, Greek, Hungarian, Italian, Norwegian, Polish, "
        "Portuguese, Romanian, Spanish, Swedish and Turkish, "
        'whole or shortened; `"serial"` for a spreadsheet\'s day numbers (46083 is 2 March 2026); ISO 8601 unless set, '
        "and never guessed",
    )
    time_zone: Zone | None = Field(
        default=None,
        description="the clock that the file's times are on, if not the house's; in the doubled hour of autumn the "
        "earlier is taken",
    )
    dates_are: Literal["business days", "calendar days", "whole days"] | None = Field(
        default=None,
        description="business days, where the date beside a time is the day on which the evening began: times before "
        "`day_starts_at` are then of the day after; whole days, where rows are what was sold in a day and no time "
        "stands there: each counts as of `day_starts_at`; else calendar days, as unless set",
    )
    venue_in_name: Annotated[Text, AfterValidator(_holds_venue)] | None = Field(
        default=None,
        description='the venue in the file\'s name: `"sales-{venue}-"`; or in the name of the sheet: '
        '`", sheet {venue}"`',
    )
    names_end_at: tuple[Annotated[str, Field(pattern=r"\S")], ...] = Field(
        default=(), description='marks at which a till\'s modifiers begin: `[" (", " +"]`'
    )
    tax_pct: float | None = Field(
        default=None, ge=0, lt=100, description="tax that `net_amount` still contains, %; it is taken out"
    )
    voids: Literal["negative", "left out", "as they stand"] | None = Field(
        default=None,
        description="what sales are that a column marks as a void or refund, where their numbers have no minus: "
        "negative, left out as they never happened, or, as unless set, as they stand",
    )
    shares: tuple[Text, ...] | None = Field(
        default=None,
        description='columns of percentages that are written as shares of one, 0.4 for 40 %: `["abv_pct"]`; none '
        "unless set",
    )
    totals: tuple[Text, ...] = Field(
        default=(),
        description="more words that begin a line of totals, besides those of a dozen languages; also a line such as "
        "`Page 2`, and headings of a wide file to leave out",
    )
    wide: Wide | None = Field(
        default=None,
        description='`{ headings_are = "panelist", cells_are = "score" }`: every filled cell under a heading that is '
        "no column is a row",
    )
    book: bool = Field(
        default=False,
        description="a book kept by hand: blocks with titles and labels, one below another or side by side; "
        "`(title)`, `(sheet)`, `(file)`, `(notes)` and each label are headings of its rows",
    )
    labels: tuple[Text, ...] = Field(
        default=(), description="labels and headings in such a book that fill no column of the table"
    )
    blocks_with: tuple[Heading, ...] = Field(
        default=(), description="headings of such a book: blocks that lack one of them are of another table"
    )
    records_in_columns: bool = Field(
        default=False, description="in such a book a record stands in a column, with its labels down the side"
    )
    fill_down: tuple[Text, ...] = Field(
        default=(), description="columns given on the first of several rows: a blank cell means what stands above it"
    )
    only_with: tuple[Text, ...] = Field(
        default=(), description="columns without which a row of the file is none of the table: it is passed over"
    )
    kinds_by_row: bool = Field(
        default=False,
        description="specs of which no column says the kind: those that say what they yield or how long they keep, or "
        "stand among the lines of others, are preparations; all others are drinks of one serve",
    )
    once: bool = Field(default=False, description="lines that agree in the table's key are one row")
    kept: bool | None = Field(
        default=None,
        description="whether its files are kept by hand, so that the newest edition of each is all that it says: what "
        "was deleted there is gone; unless set, exports of a till add up, and all other files are kept",
    )
    database: Text | None = Field(
        default=None,
        description="name of the environment variable that holds a database's address; credentials are never written "
        "down",
    )
    query: Text | None = Field(default=None, description="the rows to read from that database, in SQL")
    columns: dict[Text, Annotated[tuple[Heading, ...], OneOrSeveral, Field(min_length=1)]] = Field(
        default={},
        description='column = "heading in the file", or a list of headings whose cells are joined by a space (date '
        "and time apart)",
    )
    constants: dict[Text, Annotated[str, BeforeValidator(_as_text, json_schema_input_type=str | float)]] = Field(
        default={}, description="column = what every row says"
    )


class SettingsFile(Settings):
    """`stillroom.toml` without the tables of reports."""

    house: HouseTable
    season: tuple[Season, ...] = Field(default=(), description="seasons")
    source: tuple[SourceSettings, ...] = Field(default=(), description="sources")
    menu: MenuSettings = Field(default_factory=MenuSettings, description="what-ifs of the menu")


def report_tables(registry: Registry) -> dict[str, type[Settings]]:
    """Every table under `[report]`: those of the reports, and what the engine's own prep list is told."""
    return {**{name: report.settings for name, report in registry.reports.items()}, "prep-list": PrepSettings}


def file_model(registry: Registry) -> type[Any]:
    """The whole of `stillroom.toml`, with a table for each report there is."""
    return _file_model(tuple(report_tables(registry).items()))


@cache
def _file_model(reports_settings: tuple[tuple[str, type[Settings]], ...]) -> type[Any]:
    fields: dict[str, Any] = {
        f"report_{number}": (model, Field(default_factory=model, alias=name))
        for number, (name, model) in enumerate(reports_settings)
    }
    reports = create_model("Reports", __base__=Settings, __doc__="Settings of reports.", **fields)
    return create_model(
        "StillroomSettings", __base__=SettingsFile, report=(reports, Field(default_factory=reports, title="reports"))
    )
