"""What a report finds: findings, tables and charts, and how they are shown."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

if TYPE_CHECKING:
    import altair as alt
    import polars as pl

Sureness = Literal["sure", "likely", "cannot tell"]


def _refuse_no_texts(thing: object, what: str, *names: str) -> None:
    for name in names:
        text = getattr(thing, name)
        if not isinstance(text, str):
            raise TypeError(f"a {what}'s {name} must be text, not {text!r}")
        text.encode()  # raises where it holds half of a character, which no file can


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
        _refuse_no_texts(self, "finding", "sentence", "evidence", "subject", "do", "why", "mend", "statistics")
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

    def __post_init__(self) -> None:
        """Refuse what could not be shown."""
        import polars as pl

        _refuse_no_texts(self, "table", "name", "title", "note", "subject", "subjects")
        if not isinstance(self.frame, pl.DataFrame):
            raise TypeError(f"a table's frame must be a polars DataFrame, not {type(self.frame).__name__}")


@dataclass(frozen=True, kw_only=True)
class ReportChart:
    """A chart on the page."""

    name: str
    title: str
    """What it shows, as a sentence."""
    chart: alt.TopLevelMixin | dict[str, Any]
    """Any Altair chart, or a Vega-Lite specification with its data; without theme, which is the page's."""
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

    def __post_init__(self) -> None:
        """Refuse what could not be shown."""
        of = {"findings": Finding, "tables": ReportTable, "charts": ReportChart, "notes": str}
        for name, kind in of.items():
            held = getattr(self, name)
            if not isinstance(held, tuple | list) or not all(isinstance(one, kind) for one in held):
                raise TypeError(f"{name} of a result must be a tuple of {kind.__name__}, not {held!r}")
        "".join(self.notes).encode()
