"""What a doubt is, and how much money it touches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from stillroom.names import name_key
from stillroom.objects import Period

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.specs.composition import Composition


@dataclass(frozen=True, kw_only=True)
class Doubt:
    """One thing to mend in the data."""

    kind: str
    """rows set aside, till names, unknown names, unknown contents, amounts, prices, days without sales or batches
    without an end."""
    what: str
    """What is in doubt, in a sentence."""
    do: str
    """What to do."""
    mend: str
    """The command that mends it, or the file and row."""
    subject: str = ""
    """A drink, preparation, garnish or ingredient; '' where it is about several, or about a file."""
    money: float | None = None
    """What it touches, house currency: of a cost the net sales of the drinks that it is of, of the till its lines, of a
    batch what it cost to make; None where that cannot be told."""
    share: float | None = None
    """Of all net sales of the period."""
    drinks: tuple[str, ...] = ()
    """Those whose figures it bends."""


class Books:
    """The views that doubts are worked out from, and the money of a period.

    Args:
        frames: the views of `find.NEEDS`; without `batch_fate` nothing is known of what batches cost.
        period: the days whose money counts.
    """

    def __init__(self, frames: Mapping[str, pl.DataFrame], period: Period) -> None:
        self.frames, self.period = frames, period

    def rows(self, view: str) -> Iterator[dict[str, Any]]:
        """The rows of a view."""
        return self.frames[view].iter_rows(named=True)

    def within(self, view: str, column: str = "business_date") -> pl.DataFrame:
        """The rows of a view within the period."""
        import polars as pl

        return self.frames[view].filter(pl.col(column).is_between(self.period.first, self.period.last))

    @cached_property
    def till(self) -> float:
        """All net sales of the period."""
        return float(self.within("till_item_day")["net_amount"].sum() or 0)

    @cached_property
    def a_line(self) -> float:
        """What a till line of the period brings on average."""
        lines = int(self.within("till_item_day")["lines"].sum() or 0)
        return self.till / lines if lines else 0.0

    @cached_property
    def sold(self) -> dict[str, float]:
        """Key of a drink -> its net sales in the period."""
        found: dict[str, float] = {}
        for spec, net in self.within("daily_serves").select("spec", "net_amount").iter_rows():
            found[name_key(spec)] = found.get(name_key(spec), 0.0) + net
        return found

    @cached_property
    def spelt(self) -> dict[str, str]:
        """Key of a spec -> its one spelling."""
        return dict(self.frames["spelling"].select("name_key", "spec").iter_rows())

    @cached_property
    def cost_of(self) -> dict[str, float]:
        """Key of a batch -> what it cost to make; key of a preparation -> what a batch of it costs on average."""
        import polars as pl

        if "batch_fate" not in self.frames:
            return {}
        fate = self.frames["batch_fate"].filter(pl.col("cost_made").is_not_null())
        each = fate.group_by("preparation").agg(pl.col("cost_made").mean())
        pairs = [*each.iter_rows(), *fate.select("batch", "cost_made").iter_rows()]
        return {name_key(name): float(cost) for name, cost in pairs}

    @cached_property
    def composition(self) -> Composition:
        """What goes into every spec, as the book stands."""
        from stillroom.analysis.specs.book import SpecBook
        from stillroom.analysis.specs.composition import Composition

        return Composition(SpecBook(self.frames))

    @cached_property
    def _takers(self) -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for item, spec in self.frames["spec_item"].select("item_key", "name_key").unique().iter_rows():
            found.setdefault(item, set()).add(spec)
        return found

    def drinks_with(self, names: Iterable[str]) -> tuple[str, ...]:
        """The drinks that are one of these, or hold one at any depth, and sold in the period; dearest first."""
        open_ones, seen = {name_key(name) for name in names}, set[str]()
        while open_ones:
            key = open_ones.pop()
            seen.add(key)
            open_ones |= self._takers.get(key, set()) - seen
        sold = sorted(seen & self.sold.keys(), key=lambda key: (-self.sold[key], key))
        return tuple(self.spelt.get(key, key) for key in sold)

    def about(self, names: Iterable[str], **said: str) -> Doubt:
        """A doubt about some names, with the money of the drinks that it bends."""
        drinks = self.drinks_with(names)
        return self.worth(sum(self.sold[name_key(one)] for one in drinks) if drinks else None, drinks, **said)

    def batches(self, names: Iterable[str], **said: str) -> Doubt:
        """A doubt about batches (or makings of preparations), with what they cost."""
        costs = [self.cost_of[name_key(name)] for name in names if name_key(name) in self.cost_of]
        return self.worth(sum(costs) if costs else None, (), **said)

    def worth(self, money: float | None, drinks: tuple[str, ...] = (), **said: str) -> Doubt:
        """A doubt about a sum."""
        share = money / self.till if money is not None and self.till > 0 else None
        return Doubt(money=money, share=share, drinks=drinks, **said)
