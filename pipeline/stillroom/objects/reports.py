"""What a report is, and what it is handed: frames, the days to look at, and what is known of the house."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, Any, Generic, Literal

from typing_extensions import TypeVar

from stillroom.house.base import NoSettings, Settings
from stillroom.objects.by_name import function
from stillroom.objects.cautions import Caution
from stillroom.objects.findings import ReportResult

if TYPE_CHECKING:
    import polars as pl

    from stillroom.answers.menu.what_if import WhatIf

Decision = Literal["keep", "rework", "drop"]
Model = TypeVar("Model", bound=Settings)
ReportSettings = TypeVar("ReportSettings", bound=Settings, default=Settings, covariant=True)


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
        return function(self.build)(inputs)
