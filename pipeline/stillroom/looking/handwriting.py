"""How a file writes its dates and numbers, told from all of its cells; what they leave open is asked."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

import polars as pl

from stillroom.intake import casting, moments
from stillroom.intake.moments import Clock
from stillroom.looking.shapes import may_be_in, shape

SAMPLE: Final = 500  # cells on which the many ways to write a date are tried; those that fit are tried on all
DAYS: Final[dict[str, tuple[str, ...]]] = {
    "day, month, year": (
        *("%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%d %m %Y", "%d/%m/%y", "%d.%m.%y", "%d-%m-%y"),
        *("%d %b %Y", "%d-%b-%Y", "%d %B %Y", "%d-%b-%y", "%d %b %y", "%d/%b/%Y", "%d.%b.%Y"),
        *("%d. %B %Y", "%d de %B de %Y"),
        *("%d/%m", "%d.%m.", "%d.%m", "%d-%m", "%d %b", "%d. %b", "%d %B", "%d. %B", "%d de %B"),
    ),
    "month, day, year": (
        *("%m/%d/%Y", "%m-%d-%Y", "%m %d %Y", "%m/%d/%y", "%m-%d-%y"),
        *("%b %d, %Y", "%B %d, %Y", "%b %d %Y"),
        *("%m/%d", "%b %d", "%B %d"),
    ),
    "number of the day": (moments.SERIAL,),
    "year, month, day": (
        "%G-W%V-%u",
        "%GW%V%u",
        "%Y-%m-%d",
        "%Y/%m/%d",
        "%Y.%m.%d",
        "%Y.%m.%d.",
        "%Y. %m. %d.",
        "%Y%m%d",
        "%y/%m/%d",
        "%y.%m.%d",
        "%y-%m-%d",
    ),
}
"""Order of the parts -> ways to write a day; that of ISO 8601 counts where the time beside it is another's.

Between full stops no month comes first, nor where a comma parts decimals, unless a day such as 04.20. says so: of the
locales of the CLDR whose language is read only the Hungarian writes it so, and a test says so.
"""
DAY_FIRST, MONTH_FIRST = list(DAYS)[:2]
SOME_YEAR: Final = 2000
"""To see whether days are read; which year they are of is asked."""
MANY_YEARS, A_YEAR = 5 * 365, 366
"""Days over which no book goes, where they may as well lie within one year: '02/03/26' and '15/03/26'."""
EXCHANGED: Final = re.compile("%[dm]")
BETWEEN_STOPS: Final = re.compile(r"%[dm]\.")
TIMES: Final = (
    *("%H:%M", "%H:%M:%S", "%H:%M:%S%.f", "%I:%M %p", "%I:%M:%S %p"),
    *("%H.%M", "%H.%M.%S", "%Hh%M", "%H:%M Uhr"),
)
BETWEEN: Final = (" ", ", ", "T")
MAY_PART_THOUSANDS: Final = r"^\D*\d{1,3},\d{3}\D*$"
DOT_PARTS_DECIMALS: Final = r"^[^,]*?(?:\d\.(?:\d{1,2}|\d{4,})|(?:^|\D)0\.\d+)(?:\D*)$"
DOT_MAY_PART_THOUSANDS: Final = r"^\D*[1-9]\d{0,2}\.\d{3}\D*$"


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way in which the dates may be written."""

    order: str
    date_format: str
    example: str
    reads_as: str
    steps_back: int
    """How often a date lies before the one above it."""
    days: int
    """From the first to the last."""


@dataclass(frozen=True, kw_only=True)
class Handwriting:
    """What the cells say of how they are written."""

    date_format: str | None = None
    """None where ISO 8601, or left open."""
    ways: tuple[Way, ...] = ()
    """Several where the dates fit more than one order: which, only their writer knows."""
    decimal: str | None = None
    """What parts decimals, where some cell is only read rightly when that is known."""
    decimal_open: str | None = None
    """A cell such as 1,234 or 1.234, where nothing tells what its mark is."""
    iso: bool = False
    """Some dates are ISO 8601 (or typed cells)."""
    year_turns: bool = False
    """Days without a year may go over New Year, and nobody has said whether they do."""
    date_unread: str | None = None
    """A date, where no way that is known reads any."""


def _in_words(day: date | None, date_format: str) -> str:
    if day is None:
        return "no date"
    return f"{day.day} {day:%B %Y}" if re.search(moments.NAMED_YEAR, date_format) else f"{day.day} {day:%B}"


def _days_between(moments: pl.Series) -> int:
    read = moments.drop_nulls()
    return (read.max() - read.min()).days if len(read) else 0  # type: ignore[operator,union-attr]


@dataclass
class Survey:
    """Takes in batches of cells, and tells how they are written."""

    types: Mapping[str, pl.DataType]
    """Column -> its type."""
    clock: Clock
    year_first: bool = False
    """The language of the headings puts the month before the day between full stops, too."""
    formats: dict[str, list[str]] | None = None
    seen: Counter[tuple[str, ...]] = field(default_factory=Counter)
    """Orders that read a cell -> how many such cells there are."""
    reads: Counter[str] = field(default_factory=Counter)
    """Format -> cells it reads."""
    sample: list[str] = field(default_factory=list)
    iso: bool = False
    commas: int = 0
    dots: int = 0
    decimal_open: str | None = None

    @property
    def kind(self) -> type[pl.DataType]:
        """Whether moments or days are looked at: a source has one date_format."""
        return pl.Datetime if any(dtype == pl.Datetime for dtype in self.types.values()) else pl.Date

    def add(self, texts: Mapping[str, pl.Series]) -> None:
        """Look at a batch's cells, column by column."""
        for name, text in texts.items():
            dtype = self.types.get(name)  # a setting may name a column of another table
            if dtype is not None and dtype == self.kind:
                self._dates(casting.narrow(casting.tidy(text)), dtype)
            elif dtype == pl.Float64:
                self._numbers(casting.narrow(casting.tidy(text)))

    def told(self) -> Handwriting:
        """What all cells together say."""
        orders = [order for order in DAYS if any(order in orders for orders in self.seen)]
        ahead = [order for order in orders if not any(self._beats(other, order) for other in orders)]
        mark = "," if self.commas > self.dots else "." if self.dots and self.decimal_open else None
        day_first_reads_all = not any(MONTH_FIRST in orders and DAY_FIRST not in orders for orders in self.seen)
        comma = mark == "," or (day_first_reads_all and not self.year_first and self._between_stops())
        if comma and DAY_FIRST in ahead:
            ahead = [order for order in ahead if order != MONTH_FIRST]
        ways = self._ways(ahead)
        ways = [way for way in ways if way.days < MANY_YEARS or all(one.days > A_YEAR for one in ways)]
        return Handwriting(
            date_format=ways[0].date_format if len(ways) == 1 else None,
            ways=tuple(ways) if len(ways) > 1 else (),
            decimal=mark,
            decimal_open=self.decimal_open if not self.commas and not self.dots else None,
            iso=self.iso,
            date_unread=self.sample[0] if self.sample and not orders and not self.iso else None,
        )

    def _between_stops(self) -> bool:
        return all(BETWEEN_STOPS.search(one) for one in (self.formats or {}).get(MONTH_FIRST, []))

    def _beats(self, one: str, other: str) -> bool:
        """Some cells can only be in the order `one`, and none only in the other."""
        only_one = any(one in orders and other not in orders for orders in self.seen)
        only_other = any(other in orders and one not in orders for orders in self.seen)
        return only_one and not only_other

    def _ways(self, orders: list[str]) -> list[Way]:
        """Each order with its commonest format, and what the cell that tells them best apart is in it."""
        if self.formats is None or not orders:
            return []
        formats = [max(self.formats[order], key=lambda one: self.reads[one]) for order in orders]
        kind = next(dtype for dtype in self.types.values() if dtype == self.kind)
        moments = [self._read(pl.Series(self.sample), kind, one) for one in formats]
        read = [some.to_list() for some in moments]
        place = max(range(len(self.sample)), key=lambda place: (len({days[place] for days in read} - {None}), -place))
        return [
            Way(
                order=order,
                date_format=one,
                example=self.sample[place],
                reads_as=_in_words(days[place], one),
                steps_back=int((some.drop_nulls().diff().dt.total_days() < 0).sum()),
                days=_days_between(some),
            )
            for order, one, days, some in zip(orders, formats, read, moments, strict=True)
        ]

    def _read(self, text: pl.Series, dtype: pl.DataType, date_format: str | None) -> pl.Series:
        clock = replace(self.clock, date_format=date_format, year=self.clock.year or SOME_YEAR, year_turns=False)
        return moments.read(text, dtype, clock) if date_format is None else moments.written(text, dtype, clock)

    def _dates(self, text: pl.Series, dtype: pl.DataType) -> None:
        if dtype == pl.Date:
            text = moments.day_alone(text)
        text = text.drop_nulls().unique(maintain_order=True)
        iso = self._read(text, dtype, None).is_not_null()
        self.iso = self.iso or bool(iso.any())
        text = text.filter(~iso)
        if text.is_empty():
            return
        if self.formats is None:
            self.sample = text.head(SAMPLE).to_list()
            self.formats = self._that_fit(text.head(SAMPLE), dtype)
        hits = {one: self._read(text, dtype, one).is_not_null() for several in self.formats.values() for one in several}
        for one, hit in hits.items():
            self.reads[one] += int(hit.sum())
        orders = {
            order: pl.DataFrame({one: hits[one] for one in several}).select(pl.any_horizontal(pl.all())).to_series()
            for order, several in self.formats.items()
        }
        if not orders:
            return
        for row, count in pl.DataFrame(orders).to_struct("orders").value_counts().iter_rows():
            if any(row.values()):
                self.seen[tuple(order for order, hit in row.items() if hit)] += count

    def _that_fit(self, sample: pl.Series, dtype: pl.DataType) -> dict[str, list[str]]:
        """The formats that read at least a tenth of as many cells as the best does, by order.

        Where one has day and month as numbers, the same with both exchanged may yet fit later cells.
        """
        tails = [f"{gap}{time}" for time in TIMES for gap in BETWEEN] if dtype == pl.Datetime else [""]
        seen = {shape(cell) for cell in sample}
        reads = {
            (order, one): int(self._read(sample, dtype, one).is_not_null().sum())
            for order, days in DAYS.items()
            for one in (day + tail for day in days for tail in (tails if day != moments.SERIAL else [""]))
            if any(may_be_in(one, cell) for cell in seen)
        }
        least = max(1, max(reads.values(), default=0) / 10)
        fits: dict[str, list[str]] = {}
        for (order, one), count in reads.items():
            if count >= least:
                fits.setdefault(order, []).append(one)
        for order, other in ((DAY_FIRST, MONTH_FIRST), (MONTH_FIRST, DAY_FIRST)):
            for one in fits.get(order, []).copy():
                exchanged = EXCHANGED.sub(lambda part: "%m" if part[0] == "%d" else "%d", one)
                if "%m" in one and exchanged not in fits.setdefault(other, []):
                    fits[other].append(exchanged)
        return fits

    def _numbers(self, text: pl.Series) -> None:
        text = text.drop_nulls()
        dot = casting.cast(text, pl.Float64(), self.clock).is_not_null()
        if dot.all() and self.dots:
            return
        comma = casting.cast(text, pl.Float64(), self.clock, ",").is_not_null()
        comma &= ~text.str.contains(DOT_PARTS_DECIMALS)
        unsure = text.str.contains(MAY_PART_THOUSANDS)
        self.commas += int((comma & ~dot & ~unsure).sum())
        self.dots += int((dot & ~comma).sum())
        if self.decimal_open is None:
            unsure = (comma & ~dot & unsure) | text.str.contains(DOT_MAY_PART_THOUSANDS)
            self.decimal_open = next(iter(text.filter(unsure)), None)
