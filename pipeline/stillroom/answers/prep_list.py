"""What to make today: every preparation's stock, its expected use, and the making that costs least."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from stillroom.errors import UsageError
from stillroom.house.report_settings import DemandSettings, PrepSettings
from stillroom.objects import HouseFacts

if TYPE_CHECKING:
    import numpy as np
    import polars as pl

    from stillroom.analysis.batches.batch_size import BatchSize
    from stillroom.analysis.batches.making_way import Costs
    from stillroom.analysis.batches.preparation_stock import Stocked
    from stillroom.analysis.batches.use_ahead import UseAhead
    from stillroom.analysis.specs.buying import ToBuy

NEEDS: Final = (
    *("daily_serves", "current_spec", "spec_version", "version_span", "preparation_use", "batch_fate", "spec_cost"),
)
"""Views the prep list reads."""
SHORTEST_LOOK: Final = 28
"""Days ahead that are weighed: three times what a batch keeps, but no fewer, and no more than are forecast."""


@dataclass(frozen=True, kw_only=True)
class PrepLine:
    """One preparation on the list."""

    venue: str
    preparation: str
    unit: str
    version: int | None
    """Version of the spec to make by."""
    lots: tuple[tuple[str, float, date | None], ...]
    """On hand: batch, amount, use-by; in the order of use."""
    on_hand: float
    past_use_by: tuple[tuple[str, float, date], ...]
    """Batch, amount left, use-by of those that are past it on the day."""
    expected_use: float
    use_low: float
    use_high: float
    """Until the next making, with its 80 % interval."""
    chance_short: float | None = None
    """That what is on hand runs out before the next making; None where that cannot be told."""
    chance_waste: float | None = None
    """That some of what is on hand passes its use-by."""
    wasted: float = 0.0
    """How much of it, on average."""
    make: float = 0.0
    """Amount to make today; 0 = nothing."""
    makings: float = 0.0
    """The same in makings of the spec."""
    make_wasted: float = 0.0
    """How much of it passes its use-by on average, if nothing is made before."""
    saves: float = 0.0
    """Money that this making saves against making none today, over the days looked at; its work is counted."""
    wanted_for: tuple[tuple[str, float], ...] = ()
    """What of it today's other makings take: outer preparation, amount."""
    sizes: tuple[BatchSize, ...] = ()
    """Sizes of a batch made on an empty shelf, and their odds; the smallest first."""
    cannot_tell: str = ""
    """Why no making can be advised."""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PrepList:
    """What to make on a day, in order of need."""

    house: str
    currency: str
    day: date
    next_making: date
    last_day: date
    """Last day in the data."""
    lines: tuple[PrepLine, ...]
    notes: tuple[str, ...]
    to_buy: tuple[ToBuy, ...] = ()
    """What has to be in the house for it (`with_to_buy`), whether it is there already or not: no file says."""

    @property
    def to_make(self) -> tuple[PrepLine, ...]:
        """Lines with something to make, in the order to make them in."""
        return tuple(line for line in self.lines if line.make > 0)

    @property
    def others(self) -> tuple[PrepLine, ...]:
        """The rest."""
        return tuple(line for line in self.lines if line.make <= 0)


def prep_list(
    frames: Mapping[str, pl.DataFrame], house: HouseFacts, day: date | None = None, next_making: int | None = None
) -> PrepList:
    """Draw up the prep list.

    Args:
        frames: the views of `NEEDS`.
        day: the day to make on; the first open day after the last one in the data when None.
        next_making: days until the next making; from the settings when None.

    Raises:
        UsageError: there are no sales, or the day is not after the last one in the data, or too far from it.
    """
    from stillroom.analysis.batches.use_ahead import FARTHEST, house_wide

    settings = house.settings(PrepSettings)
    if next_making is not None:
        if not 1 <= next_making <= 28:
            raise UsageError(f"The next making must be 1 to 28 days away, not {next_making}.")
        settings = settings.model_copy(update={"next_making_days": next_making})
    if frames["daily_serves"].is_empty():
        raise UsageError("There are no sales to forecast from: take in a till export first.")
    last_day = max(
        [*frames["daily_serves"]["business_date"].to_list(), *frames["batch_fate"]["last_day"].to_list()[:1]]
    )
    day = day or _first_open_day(frames["daily_serves"], house, last_day)
    if not 1 <= (day - last_day).days <= FARTHEST:
        raise UsageError(
            f"A prep list can be drawn up for the {FARTHEST} days after {last_day}, the last day in the data; "
            f"{day} is not one of them."
        )
    frames = house_wide(frames, house.name)
    venues = sorted(frames["daily_serves"]["venue"].drop_nulls().unique().to_list())
    lines = [line for venue in venues for line in _venue_lines(frames, house, settings, venue, last_day, day)]
    return PrepList(
        house=house.name,
        currency=house.currency,
        day=day,
        next_making=day + timedelta(days=settings.next_making_days),
        last_day=last_day,
        lines=tuple(lines),
        notes=_notes(settings, house.currency, (day - last_day).days - 1),
    )


def with_to_buy(listed: PrepList, frames: Mapping[str, pl.DataFrame]) -> PrepList:
    """The list, and what has to be bought for it.

    Args:
        frames: the views of a spec book, `VIEWS`.
    """
    from stillroom.analysis.specs.book import SpecBook
    from stillroom.analysis.specs.buying import to_buy

    book = SpecBook(frames, listed.day)
    specs = [(book.find(one.preparation, one.version), one.makings) for one in listed.to_make if one.version]
    makings = [(spec, number) for spec, number in specs if spec is not None]
    return replace(listed, to_buy=to_buy(book, frames["current_ingredient"], makings, listed.day))


def _first_open_day(daily: pl.DataFrame, house: HouseFacts, last_day: date) -> date:
    """The first day after the data on whose weekday the house lately sold something, and that is not a closed day."""
    from stillroom.analysis.batches.use_ahead import FARTHEST

    lately = [day for day in daily["business_date"].to_list() if (last_day - day).days < FARTHEST]
    weekdays = {day.weekday() for day in lately}
    closed = house.settings(DemandSettings).closed
    ahead = [last_day + timedelta(days=number) for number in range(1, FARTHEST + 1)]
    return next((day for day in ahead if day.weekday() in weekdays and day not in closed), ahead[0])


def _venue_lines(
    frames: Mapping[str, pl.DataFrame], house: HouseFacts, settings: PrepSettings, venue: str, last_day: date, day: date
) -> list[PrepLine]:
    """The lines of one venue; outer preparations are planned before what goes into them."""
    from stillroom.analysis.batches import preparation_stock as stock_of
    from stillroom.analysis.batches.keeping import batch_lives
    from stillroom.analysis.batches.kept import kept_by_preparation
    from stillroom.analysis.batches.making_way import Costs
    from stillroom.analysis.batches.use_ahead import UseAhead, outer_first, stock_demand, usual_use
    from stillroom.analysis.specs.versions import Versions

    gap = (day - last_day).days - 1
    ahead = stock_demand(frames, venue, last_day, house.settings(DemandSettings).calendar())
    if ahead is None:
        return []
    here = _of_venue(frames, venue)
    usual = usual_use(ahead, here["batch_fate"])
    use = UseAhead(ahead, gap)
    kept = kept_by_preparation(batch_lives(frames["batch_fate"]))
    units = dict(zip(ahead.need.preparations, ahead.need.units, strict=True))
    versions = Versions(frames["version_span"])
    stocks = {
        name: stock_of.stocked(
            here["batch_fate"], frames["spec_version"], versions, kept, name, units[name], day, use.before(name)
        )
        for name in outer_first(ahead.need)
    }
    waste = {name: stock_of.waste_per_unit(frames["spec_cost"], stock, day) for name, stock in stocks.items()}
    short = stock_of.short_per_unit(
        ahead, here["daily_serves"], frames["spec_cost"], last_day, settings.running_out_share
    )
    middle = stock_of.middle_cost([cost for cost, _ in waste.values()])
    lines: list[PrepLine] = []
    gains: dict[str, float] = {}
    for name, stock in stocks.items():
        cost, note = waste[name]
        notes = tuple(
            filter(
                None,
                (_kept_less(stock), note, "" if cost else "its cost is not known: the middle of the others is taken"),
            )
        )
        costs = Costs(
            waste=cost or middle,
            short=short[name],
            making=settings.work_per_making,
            making_now=_work_before(name, use, stocks, settings),
        )
        drawn = use.of(name)
        wanted = use.wanted_today(name)
        costs = _worth_now(costs, wanted, drawn, gains, settings.next_making_days)
        line = _line(venue, stock, drawn, settings, costs, day, _usual_size(here["batch_fate"], name, units[name]))
        if wanted and not use.served(name):  # all its worth lies in the makings that want it
            line = replace(line, saves=min(line.saves, sum(gains[outer] for outer, _ in wanted)))
        use.plan(name, line.make, stock.on_hand)
        gains[name] = line.saves + (costs.making_now if line.make > 0 else 0.0)
        left = stock_of.left_over(here["batch_fate"], name, units[name], day, usual[name])
        lines.append(
            replace(
                line,
                notes=line.notes + notes,
                wanted_for=wanted,
                chance_waste=float((left > stock_of.NEXT_TO_NOTHING).mean()),
                wasted=float(left.mean()),
            )
        )
    return _in_order(lines)


def _work_before(name: str, use: UseAhead, stocks: Mapping[str, Stocked], settings: PrepSettings) -> float:
    """Money for making first what a making of it takes and is not there."""
    making = stocks[name].making
    if making is None:
        return 0.0
    least = making * settings.part(name)
    lacking = [
        inner for inner, rate in use.goes_into_it(name) if inner in stocks and stocks[inner].on_hand < rate * least
    ]
    return settings.work_per_making * len(lacking)


def _worth_now(
    costs: Costs,
    wanted: tuple[tuple[str, float], ...],
    use: np.ndarray,
    gains: Mapping[str, float],
    next_making_days: int,
) -> Costs:
    """The costs, where today's makings of other preparations want some of it: it is worth to them what they save.

    Without it such a making is put off, not lost: a unit of it is not worth the serves that hang on it in the end.

    Args:
        wanted: outer preparation, amount.
        use: draws by days of its use, with what is wanted.
        gains: of the outer preparations, what their makings save before the work of making what goes in.
    """
    if not wanted:
        return costs
    lump = sum(amount for _, amount in wanted)
    other = max(0.0, float(use[:, :next_making_days].sum(axis=1).mean()) - lump)
    worth = other * costs.short + sum(gains[outer] for outer, _ in wanted)
    return replace(costs, short_now=worth / (other + lump))


def _kept_less(stock: Stocked) -> str:
    """That a preparation is not counted on for as long as its label says."""
    if stock.keeps is None or stock.keeps == stock.stated:
        return ""
    days = {1: "the day it is made", 2: "1 day"}.get(stock.keeps, f"{stock.keeps - 1} days")
    stated = "" if stock.stated is None else f", not {stock.stated - 1} as its label says"
    return f"counted on for {days} only{stated}: batches have spoiled sooner"


def _of_venue(frames: Mapping[str, pl.DataFrame], venue: str) -> dict[str, pl.DataFrame]:
    """The frames that have a venue, of this one alone."""
    import polars as pl

    return {name: frame.filter(pl.col("venue") == venue) for name, frame in frames.items() if "venue" in frame.columns}


def _usual_size(fate: pl.DataFrame, preparation: str, unit: str) -> float | None:
    """How much is made at a time: the median of its batches."""
    import polars as pl

    made = fate.filter(pl.col("preparation") == preparation, pl.col("unit") == unit)["made"]
    return float(made.median()) if len(made) else None  # type: ignore[arg-type]


def _line(
    venue: str,
    stock: Stocked,
    use: np.ndarray,
    settings: PrepSettings,
    costs: Costs,
    day: date,
    usual_size: float | None,
) -> PrepLine:
    import numpy as np

    from stillroom.analysis.batches.batch_size import batch_sizes
    from stillroom.analysis.batches.making_plan import making_plan

    until_next = use[:, : settings.next_making_days].sum(axis=1)
    low, high = np.quantile(until_next, [0.1, 0.9])
    line = PrepLine(
        venue=venue,
        preparation=stock.preparation,
        unit=stock.unit,
        version=stock.version,
        lots=stock.lots,
        on_hand=stock.on_hand,
        past_use_by=stock.past_use_by,
        expected_use=float(until_next.mean()),
        use_low=float(low),
        use_high=float(high),
    )
    if stock.making is None or stock.keeps is None:
        what = "how much a making gives" if stock.making is None else "how long it keeps"
        return replace(line, cannot_tell=f"neither its spec nor a batch says {what}")
    plan = making_plan(
        stock.shelf(day),
        use[:, : max(SHORTEST_LOOK, 3 * stock.keeps)],
        keeps=stock.keeps,
        next_making=settings.next_making_days,
        step=stock.making * settings.part(stock.preparation),
        most=stock.making * settings.most_makings,
        costs=costs,
    )
    return replace(
        line,
        chance_short=plan.chance_short,
        make=plan.size,
        makings=plan.size / stock.making,
        make_wasted=stock.left_of_making(plan.size, day, use),
        saves=plan.saves,
        sizes=batch_sizes(
            use,
            keeps=stock.keeps,
            next_making=settings.next_making_days,
            making=stock.making,
            step=stock.making * settings.part(stock.preparation),
            now=usual_size,
            advised=plan.usual,
        ),
    )


def _in_order(lines: list[PrepLine]) -> list[PrepLine]:
    """What runs out soonest first, but what goes into another making before that; then what needs no making."""
    order: list[PrepLine] = []
    waiting = sorted(
        (line for line in lines if line.make > 0), key=lambda one: (-(one.chance_short or 0), one.preparation)
    )
    while waiting:
        names = {line.preparation for line in waiting}
        inner_of = {outer for line in waiting for outer, _ in line.wanted_for if outer in names}
        ready = next((line for line in waiting if line.preparation not in inner_of), waiting[0])
        order.append(ready)
        waiting.remove(ready)
    rest = [line for line in lines if line.make <= 0]
    return order + sorted(rest, key=lambda one: (-(one.chance_waste or 0), one.preparation))


def _notes(settings: PrepSettings, currency: str, gap: int) -> tuple[str, ...]:
    work = f"{currency} {settings.work_per_making:g}"
    notes = [
        "The amount is the one that costs least over the days ahead: what is thrown away, at cost; the contribution of "
        f"serves lost to running out{_share(settings.running_out_share)}; and {work} of work a making "
        f"([report.prep-list] in the settings).",
        "Use-by dates and keep times are the spec's and the book's; local food codes and the person responsible "
        "decide. Never use what is past its use-by, or smells, looks or measures wrong before it.",
    ]
    if gap:
        days = "1 day lies" if gap == 1 else f"{gap} days lie"
        notes.append(f"{days} between the data and this day: stock is taken down by the use expected in them.")
    return tuple(notes)


def _share(share: float) -> str:
    return "" if share == 1 else f" ({100 * share:.0f} % of it: the rest take another drink)"
