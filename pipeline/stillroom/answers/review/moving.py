"""What would move a drink's money: effects of a known size, each with its range."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from stillroom.answers.review.sheet_objects import Lever
from stillroom.words import counted

if TYPE_CHECKING:
    from stillroom.analysis.next_menu.assumption import Assumption
    from stillroom.analysis.specs.sheet import SpecSheet
    from stillroom.answers.review.sheets import Bench

PRICE: Final = 0.05
PART: Final = 0.10
SERVES: Final = 0.10
"""How much dearer or cheaper, how much less of a part, how many more serves are looked at."""


def levers(bench: Bench, row: dict[str, Any], own: SpecSheet) -> tuple[Lever, ...]:
    """What price, cost and portion, and more guests would do over as long as the period has run, all else as it was.

    Args:
        row: the drink's, of `SeasonFigures.drinks`.
        own: its sheet.
    """
    serves, net, cost = row["serves"], row["net_per_serve"], row["cost_per_serve"]
    if serves <= 0 or net is None or cost is None:
        return ()
    found = [_price(bench.price_response, serves, net, cost, change) for change in (PRICE, -PRICE)]
    low, high = _serves_range(bench, row)
    dearest = max((line for line in own.lines if not line.cost.missing), key=lambda line: line.cost.known, default=None)
    if dearest is not None and dearest.cost.known > 0:
        each = PART * dearest.cost.known / own.spec.serves
        what = f"{100 * PART:.0f} % off {dearest.item}, in price or in the glass"
        found.append(Lever(what=what, low=each * low, high=each * high, rests_on="as many sold"))
    left = SERVES * (net - cost)
    what = f"{100 * SERVES:.0f} % more serves"
    return (*found, Lever(what=what, low=left * low, high=left * high, rests_on="at today's price and cost"))


def _price(response: Assumption, serves: float, net: float, cost: float, change: float) -> Lever:
    """Another price: what a serve then leaves, times the serves then sold, over what they leave now.

    Serves go with price to the power of the elasticity (`price_response`); both ends of its range are told.
    """
    ends = sorted(
        serves * ((1 + change) ** elasticity * ((1 + change) * net - cost) - (net - cost))
        for elasticity in (response.low, response.high)
    )
    fewer = f"for 1 % of price, {abs(response.high):.1f} to {abs(response.low):.1f} % of serves the other way"
    known = "as the settings say" if response.stated else "assumed"
    if response.narrowed:
        known = f"by {counted(response.cases, 'price change')} here"
    return Lever(
        what=f"Price {100 * abs(change):.0f} % {'higher' if change > 0 else 'lower'}",
        low=ends[0],
        high=ends[1],
        rests_on=f"{fewer}: {known}",
    )


def _serves_range(bench: Bench, row: dict[str, Any]) -> tuple[float, float]:
    """95 % range of the serves of such a period, from the scatter of whole weeks; the count itself with too few."""
    import polars as pl

    from stillroom.analysis.menu.weekly_money import reach_of_sum

    one = bench.season
    whole = one.figures.weeks.filter(pl.col("spec") == row["spec"], pl.col("week").is_in(list(one.whole)))
    weeks = [float(serves) for serves in whole.sort("week")["serves"]]
    reach = reach_of_sum(weeks, len(weeks)) or 0.0
    return max(row["serves"] - reach, 0.0), row["serves"] + reach
