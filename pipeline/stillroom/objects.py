"""What plugins hand over and are handed: plain frozen objects, so that the host can list and check them."""

from __future__ import annotations

import math
import pkgutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Generic, Literal, get_args

from typing_extensions import TypeVar

from stillroom import guarded
from stillroom.errors import PluginError
from stillroom.house.base import NoSettings, Settings
from stillroom_schemas.table import Reference, Table

if TYPE_CHECKING:
    import altair as alt
    import polars as pl

    from stillroom.answers.menu.what_if import WhatIf

Sureness = Literal["sure", "likely", "cannot tell"]
Decision = Literal["keep", "rework", "drop"]
Result = TypeVar("Result")
Model = TypeVar("Model", bound=Settings)
ReportSettings = TypeVar("ReportSettings", bound=Settings, default=Settings, covariant=True)


def _function(of: Callable[..., Result] | str) -> Callable[..., Result]:
    """A function, itself or by where it is."""
    return pkgutil.resolve_name(of) if isinstance(of, str) else of


# Sources -------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class SourceFile:
    """A file to read, and how the settings say it is written."""

    path: Path
    """Where it is; for rows from a database, the house's folder."""
    name: str
    """How to call it in messages: its path inside the house, or as it was given."""
    encoding: str = "utf-8"
    """A Python codec name."""
    separator: str | None = None
    """What stands between two cells; None = the one that makes most of the headings looked for."""
    sheet: str | None = None
    """Sheet of a workbook; None = the first that has the headings looked for."""
    decimal: str | None = None
    """What parts decimals in its texts: numbers of a workbook come out written so, too."""
    looked_for: frozenset[str] = frozenset()
    """Headings that may be in the file, case-folded: the row that holds most of them is the heading row."""
    address: str | None = field(default=None, repr=False)
    """Address of a database, with its password: never to be shown."""
    query: str | None = None
    """The rows to read from that database."""
    plugin_seconds: float = guarded.PATIENT
    """The longest that its source may take over its headings, or over its next rows."""


@dataclass(frozen=True, kw_only=True)
class Malformed:
    """A row that is not a row of its file: too many cells, too few, a quote that never closes."""

    row_number: int
    problem: str
    cells: tuple[str, ...]
    """What could be told apart; the whole row as one cell where nothing could."""


@dataclass(frozen=True, kw_only=True)
class TextBatch:
    """Some rows of a file, as text, with the file's own headings."""

    rows: pl.DataFrame
    """One text column a heading; null or '' where a cell is empty."""
    row_numbers: pl.Series
    """Each row's number as a spreadsheet shows it: the heading is row 1."""
    passed_over: int = 0
    """Blank rows that were skipped."""
    malformed: tuple[Malformed, ...] = ()
    """Rows that could not be taken apart into cells."""

    def passing_over(self, lines: pl.Series) -> TextBatch:
        """The batch without those rows (a mask), which are counted as passed over."""
        if not lines.any():
            return self
        return replace(
            self,
            rows=self.rows.filter(~lines),
            row_numbers=self.row_numbers.filter(~lines),
            passed_over=self.passed_over + int(lines.sum()),
        )


OUR_HEADINGS: Final = "stillroom.reading:read_headings"


@dataclass(frozen=True, kw_only=True)
class Source:
    """One kind of file: what it fills, and how it is read. Checking and landing is the host's work."""

    name: str
    """What the settings call it: `plugin = "..."`."""
    title: str
    """One line for people."""
    tables: tuple[str, ...]
    """The table or tables it can fill; a file fills the one whose headings it has."""
    headings: Callable[[SourceFile], list[str]] | str = OUR_HEADINGS
    """The file's headings; raises `FileRefused` where it has none that can be read."""
    read: Callable[[SourceFile], Iterator[TextBatch]] | str = "stillroom.reading:read_batches"
    """The file's rows in batches of bounded size, in file order; raises `FileRefused`.

    This and `headings` are functions, or where they are: 'package.module:function', imported when a file is read.
    Unless named, they read every kind of file that Stillroom knows.
    """
    beside: Callable[[Path], tuple[Path, ...]] | str | None = None
    """Files that are read with the one at a path, such as the key of a session: they go where it goes."""
    used_with_those: tuple[str, ...] = ()
    """Headings, beside the columns of the table, that `read` makes use of where there are such files."""

    @property
    def has_own_reader(self) -> bool:
        """Whether it reads files of a kind that nobody else knows."""
        return self.headings not in (OUR_HEADINGS, _function(OUR_HEADINGS))

    def headings_of(self, file: SourceFile) -> list[str]:
        """The file's headings, as `headings` reads them.

        Raises:
            FileRefused: as `headings` raises it.
            PluginError: whatever else goes wrong in it, or it takes too long.
        """
        with self._at_fault(file.name):
            return guarded.called(lambda: _function(self.headings)(file), file.plugin_seconds)

    def batches_of(self, file: SourceFile) -> Iterator[TextBatch]:
        """The file's rows, as `read` reads them; faults as of `headings_of`."""
        with self._at_fault(file.name):
            yield from guarded.drawn(lambda: _function(self.read)(file), file.plugin_seconds)

    def beside_of(self, path: Path) -> tuple[Path, ...]:
        """Files that are read with the one at a path, as `beside` says; faults as of `headings_of`."""
        beside = self.beside
        if beside is None:
            return ()
        with self._at_fault(path.name):
            return guarded.called(lambda: _function(beside)(path), guarded.INSTANT)

    @contextmanager
    def _at_fault(self, name: str) -> Iterator[None]:
        """What goes wrong in its own code is its fault, and is named so."""
        try:
            yield
        except guarded.Failed as failed:
            raise PluginError(f"{name}: source plugin '{self.name}' failed ({failed}).") from failed


# Cautions ------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class SpecFacts:
    """What a caution may look at: a spec version with all that is in it, and what its batches show."""

    spec: str
    version: int
    kind: str
    """drink, preparation or garnish."""
    storage: str | None = None
    """ambient, fridge or freezer."""
    keeps_days: float | None = None
    text: str = ""
    """Its name, method and note."""
    parts_text: str = ""
    """Names, methods and notes of the specs in it."""
    items: tuple[str, ...] = ()
    """Every ingredient and spec in it, at any depth."""
    allergens: tuple[str, ...] = ()
    """Carried up from every part, as the price list states them."""
    abv_pct: float | None = None
    """% vol before chilling; of what is known where `whole` is false."""
    whole: bool = True
    """Whether everything in it could be counted."""
    mass_shares: Mapping[str, float] = field(default_factory=dict)
    """Ingredient -> share of the whole mass, 0 to 1, where it has a mass."""
    ph_measured: tuple[float, ...] = ()
    """pH of its batches, as far as measured."""
    batches: int = 0
    """Batches of this version in the book."""
    spoiled_after_days: tuple[int, ...] = ()
    """Days after which batches were logged as spoiled before their use-by."""
    part_keeps: Mapping[str, float] = field(default_factory=dict)
    """Spec in it -> the days that it keeps."""


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One thing to be careful of: when it applies to a spec, and what to say then."""

    name: str
    """Letters, digits and hyphens."""
    title: str
    """Two or three words for people."""
    source: str
    """The rule, standard or practice it rests on, and whether that was read or is from memory."""
    check: Callable[[SpecFacts], str | None]
    """What to say of this spec; None where the caution does not apply. The host adds whom to ask."""


@dataclass(frozen=True, kw_only=True)
class CommonIngredients:
    """What is commonly in ingredients, by their plain names: a table that adds to the built-in one.

    Where the price list is silent, it is assumed, with its source; never over a house's own value.
    """

    name: str
    file: Path
    """CSV in UTF-8 with the headings of `stillroom.model.COMMON`; every row names the source of its figures."""


# Reports -------------------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing a report has to say, with what it rests on.

    The first screen joins what all reports say of one subject: it shows `do`, `money`, `sureness` and `why`. A finding
    with `mend` stands under what to mend in the data; another that is to be acted on, under what to decide this week.
    """

    sentence: str
    """The finding, in plain words with its figure and unit."""
    evidence: str
    """What it rests on, for a bar lead: interval, counts, rows, assumptions."""
    sureness: Sureness = "sure"
    act: bool = False
    """Worth acting on: shown first."""
    subject: str = ""
    """The one drink, preparation, garnish or ingredient it is about, as the files spell it; '' for the whole house."""
    do: str = ""
    """What to do, without the subject's name: 'make 755 ml at a time, not 2 480'; '' where nothing is to be done."""
    money: float | None = None
    """What is at stake over the days looked at, in the house's currency; None where it is not known."""
    why: str = ""
    """The reason in one line, without a word of statistics; '' takes the sentence."""
    mend: str = ""
    """Of a fault in the data: where it is mended, a file and row or a command."""
    statistics: str = ""
    """For a statistician: test, p-value, model, corrections. Shown in a fold and not printed."""
    weight: float = 0.0
    """Findings to act on are shown heaviest first within a report; money at stake where it is known."""

    def __post_init__(self) -> None:
        """Refuse what could not be shown, so that the fault is named as the plugin's."""
        for name in ("sentence", "evidence", "subject", "do", "why", "mend", "statistics"):
            if not isinstance(getattr(self, name), str):
                raise TypeError(f"a finding's {name} must be text, not {getattr(self, name)!r}")
        if self.sureness not in get_args(Sureness):
            raise ValueError(
                f"a finding's sureness must be one of {', '.join(get_args(Sureness))}, not {self.sureness!r}"
            )
        for name in ("weight", "money"):
            value = getattr(self, name)
            if value is not None and not math.isfinite(value):
                raise ValueError(f"a finding's {name} must be a number, not {value!r}: {self.sentence}")


@dataclass(frozen=True, kw_only=True)
class Column:
    """How a column of a table is shown."""

    label: str
    unit: str = ""
    """Shown beside the label."""
    decimals: int | None = None
    """For numbers; None shows them as they are."""
    signed: bool = False
    """Show a plus sign too: for differences."""
    percent: bool = False
    """The figure is a share of 1, shown as %."""
    p_value: bool = False
    """The figure is a p-value: one that would round to nothing is shown as below the smallest of its decimals."""


@dataclass(frozen=True, kw_only=True)
class ReportTable:
    """A table on the page and in JSON and CSV."""

    name: str
    """File name of its CSV; letters, digits and hyphens."""
    title: str
    frame: pl.DataFrame
    columns: Mapping[str, Column]
    """Columns shown, in order; the frame may hold more, which JSON and CSV keep."""
    note: str = ""
    subject: str = ""
    """The one thing that all its rows are about: the table stands on that thing's sheet too."""
    subjects: str = ""
    """The column that names what a row is about: each thing's rows stand on its sheet too."""
    statistics: bool = False
    """For a statistician: shown in a fold and not printed."""
    hand_out: tuple[str, ...] = ()
    """Columns shown that stand in the printed hand-out, on a page with room to write; none: not there."""


@dataclass(frozen=True, kw_only=True)
class ReportChart:
    """A chart on the page."""

    name: str
    title: str
    """What it shows, as a sentence."""
    chart: alt.TopLevelMixin
    """Any Altair chart, without theme: the page sets colours, fonts and width."""
    note: str = ""
    subject: str = ""
    """The one thing it is about: the chart stands on that thing's sheet too."""
    statistics: bool = False
    """For a statistician: shown in a fold and not printed."""


@dataclass(frozen=True, kw_only=True)
class ReportResult:
    """What a report found."""

    findings: tuple[Finding, ...] = ()
    tables: tuple[ReportTable, ...] = ()
    charts: tuple[ReportChart, ...] = ()
    notes: tuple[str, ...] = ()
    """What holds for the whole report: assumptions, what it leaves out."""


@dataclass(frozen=True, kw_only=True)
class Period:
    """The days a report looks at, both ends included."""

    first: date
    last: date
    label: str

    @property
    def days(self) -> int:
        """Number of days."""
        return (self.last - self.first).days + 1


@dataclass(frozen=True, kw_only=True)
class MenuVerdict:
    """What a review meeting decided of a drink, preparation or garnish."""

    subject: str
    decision: Decision
    day: date
    """When it was taken."""
    by: str
    """Who took it."""
    why: str


@dataclass(frozen=True, kw_only=True)
class MenuChange:
    """A what-if: how another menu differs from today's. Names are those of the spec book."""

    drop: tuple[str, ...] = ()
    """Drinks taken off."""
    add: tuple[str, ...] = ()
    """Drinks put on, in the version in service or else the highest."""
    prices: Mapping[str, float] = field(default_factory=dict)
    """Drink -> its menu price, house currency."""
    keeps: Mapping[str, float] = field(default_factory=dict)
    """Preparation -> days it keeps after the day it is made."""
    makings: Mapping[str, str] = field(default_factory=dict)
    """Preparation -> how much is made at a time, such as '1.5 l'."""

    @property
    def label(self) -> str:
        """The change in a few words."""
        said = [f"without {name}" for name in self.drop] + [f"with {name}" for name in self.add]
        said += [f"{name} at {price:g}" for name, price in self.prices.items()]
        said += [f"{name} keeping {days:g} days" for name, days in self.keeps.items()]
        said += [f"{name} made {size} at a time" for name, size in self.makings.items()]
        return ", ".join(said)


@dataclass(frozen=True, kw_only=True)
class HouseFacts:
    """What a report may need to know of the house."""

    name: str
    currency: str
    venues: tuple[str, ...] = ()
    standard_drink: str | None = None
    """Code of the national definition in which alcohol is counted; None = grams only."""
    reports: Mapping[str, Settings] = field(default_factory=dict)
    """`[report.NAME]`, by name; and `[menu]`, under a name that no report can have."""
    verdicts: tuple[MenuVerdict, ...] = ()
    """What review meetings decided, oldest first."""

    def settings(self, model: type[Model]) -> Model:
        """The settings of this kind, whichever report they are called after; what holds unless set without any."""
        return next((one for one in self.reports.values() if isinstance(one, model)), model())


@dataclass(frozen=True, kw_only=True)
class ReportInputs(Generic[ReportSettings]):
    """What a report is handed: the frames it asked for, whole, the period to look at, and its settings."""

    frames: Mapping[str, pl.DataFrame]
    """One frame for each name in `Report.needs`."""
    period: Period
    house: HouseFacts
    settings: ReportSettings = field(default_factory=NoSettings)  # type: ignore[assignment]  # the default of its type
    """`[report.NAME]`: an object of `Report.settings`."""
    cautions: tuple[Caution, ...] = ()
    """All cautions that plugins register, for reports that show them beside a spec."""
    what_if: WhatIf | None = None
    """For a report on a what-if: the changed menu beside today's. `frames` are then those of the store as if the spec
    book said so: dropped drinks out of service after the last day, new ones in, prices and keeps as changed."""


@dataclass(frozen=True, kw_only=True)
class Report:
    """One question, and how it is answered."""

    name: str
    """What the command line calls it; letters, digits and hyphens."""
    title: str
    question: str
    """The question it answers, as its reader would ask it."""
    needs: tuple[str, ...]
    """Names of the views and tables it reads (tables as `current_NAME`)."""
    build: Callable[[ReportInputs[Any]], ReportResult] | str
    """What answers it: a function, or where it is: 'package.module:function', imported when the report is asked for."""
    settings: type[Settings] = NoSettings
    """Model of its table in `stillroom.toml`, `[report.NAME]`; each of its fields has a value unless it is set."""
    on: Literal["period", "what-if"] = "period"
    """What it answers about; on what-ifs it is asked once for each, with `ReportInputs.what_if`, else not at all."""
    grain: Literal["house", "group"] = "house"
    """Whom it answers for: a house, or a group of houses (`stillroom group report`). Of a group `needs` names views of
    `stillroom.group.views`, or tables of a group's facts, each with a column `house`."""
    place: int = 100
    """Place on the page: lower first, by name where equal. The built-in reports stand from 10 to 90."""

    def answer(self, inputs: ReportInputs[Any]) -> ReportResult:
        """What `build` finds."""
        return _function(self.build)(inputs)


__all__ = [
    "Caution",
    "Column",
    "Decision",
    "Finding",
    "HouseFacts",
    "Malformed",
    "MenuChange",
    "MenuVerdict",
    "NoSettings",
    "Period",
    "Reference",
    "Report",
    "ReportChart",
    "ReportInputs",
    "ReportResult",
    "ReportTable",
    "Settings",
    "Source",
    "SourceFile",
    "SpecFacts",
    "Sureness",
    "Table",
    "TextBatch",
]
