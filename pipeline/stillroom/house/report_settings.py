"""Settings that several ask for: a report and a command, or two reports. Others stand beside their report."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Annotated

from pydantic import AfterValidator, BeforeValidator, Field

from stillroom.house.base import Settings, Text

if TYPE_CHECKING:
    from stillroom.analysis.demand.sales_history import Calendar

Part = Annotated[float, Field(ge=0.01, le=1)]


class LossSettings(Settings):
    """What may be lost: the expiry and the rework report."""

    allowed_loss: float = Field(
        default=0.1, ge=0, le=1, description="part of what is made that may be lost before a preparation is named"
    )  # common practice, no source


class PanelSettings(Settings):
    """Tasting panels: the report, and drawing up sessions."""

    margin: float | None = Field(
        default=None,
        gt=0,
        description="scale points within which a version is 'as good as' another; not judged unless set",
    )
    alike_below: float | None = Field(
        default=None,
        gt=0,
        lt=1,
        description="share of people who notice, below which a difference test reads 'alike'; the report says which",
    )
    show_names: bool = Field(default=False, description="show panelists by name, not by code")
    samples_at_most: int = Field(default=6, ge=2, description="samples one person should taste in a sitting")


class Event(Settings):
    """Days that are unlike others, and alike among themselves."""

    name: Text = Field(description="what it is called")
    days: tuple[date, ...] = Field(description="past and to come")


class DemandSettings(Settings):
    """Special days: the demand report and the prep list."""

    closed: tuple[date, ...] = Field(default=(), description="dates on which the house was or will be closed")
    event: tuple[Event, ...] = Field(default=(), description="`name` and `days` of an event")

    def calendar(self) -> Calendar:
        """The same as the forecast takes it."""
        from stillroom.analysis.demand.sales_history import Calendar

        events = {day: event.name for event in self.event for day in event.days}
        return Calendar(closed=frozenset(self.closed), events=events)


def _as_range(value: object) -> object:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return (float(value), float(value))
    return tuple(value) if isinstance(value, list) else value


def _rising(ends: tuple[float, float]) -> tuple[float, float]:
    if ends[0] > ends[1]:
        raise ValueError(f"must rise, like [{ends[1]:g}, {ends[0]:g}], not [{ends[0]:g}, {ends[1]:g}]")
    return ends


NumberOrRange = BeforeValidator(_as_range, json_schema_input_type=float | list[float])


class MenuSettings(Settings):
    """What-ifs and choices of the menu: assumptions that the house's own data narrow where they can."""

    return_share: Annotated[
        tuple[Annotated[float, Field(ge=0, le=1)], Annotated[float, Field(ge=0, le=1)]],
        NumberOrRange,
        AfterValidator(_rising),
    ] = Field(
        default=(0.0, 1.0),
        description="part of the guests of a drink that is taken off who order another of the house's drinks: a "
        "number, or the range it lies in",
    )
    price_response: Annotated[
        tuple[Annotated[float, Field(ge=-10, le=0)], Annotated[float, Field(ge=-10, le=0)]],
        NumberOrRange,
        AfterValidator(_rising),
    ] = Field(
        default=(-2.0, 0.0),
        description="by how many per cent serves change when a price rises by 1 %: a number, or the range it lies in; "
        "what it is unless set is an assumption",
    )  # a judgement, no source


class PrepSettings(Settings):
    """The prep list."""

    work_per_making: float = Field(
        default=5.0,
        ge=0,
        le=1e6,
        description="money for the work of one making; what it is unless set is an assumption",
    )
    running_out_share: float = Field(
        default=1.0,
        ge=0,
        le=1,
        description="part of a drink's contribution lost when it cannot be served; below 1 where guests take another",
    )
    next_making_days: int = Field(default=1, ge=1, le=28, description="days from one making day to the next")
    smallest_part: Part = Field(default=0.5, description="smallest part of a making")
    most_makings: float = Field(
        default=2.0,
        ge=1,
        le=100,
        description="makings at a time that pots and fridge allow; more only where the use until the next making "
        "asks for it",
    )  # common practice, no source
    parts: Annotated[
        dict[Text, Part], AfterValidator(lambda parts: {name.casefold(): part for name, part in parts.items()})
    ] = Field(default={}, description="preparation = its own smallest part")

    def part(self, preparation: str) -> float:
        """The smallest part of a making of this preparation."""
        return self.parts.get(preparation.casefold(), self.smallest_part)
