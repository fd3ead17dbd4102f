"""When the panel cannot tell, the maker still has to choose: the better bet, and what would settle it."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import Any, Final

import polars as pl

from stillroom.words import counted, number

Row = dict[str, Any]
LITTLE: Final = 0.2
"""Share of a difference worth seeing that may be given away without another tasting."""
MOST_ROUNDS: Final = 4
"""Rounds of the same samples that the same people may be asked to taste."""
MOST_PRACTICAL: Final = 60
"""Tasters that a bar may find in one sitting."""


def best_bet(row: Row, bets: pl.DataFrame) -> Row | None:
    """The version most likely the best liked of a panel; None where no bet can be made."""
    own = bets.filter(
        (pl.col("spec") == row["spec"])
        & (pl.col("attribute") == row["attribute"])
        & (pl.col("sessions") == row["sessions"])
    )
    return None if own.is_empty() else own.sort("chance_best", "version", descending=[True, False]).row(0, named=True)


def bet_words(bet: Row) -> str:
    """The bet as it is said aloud.

    >>> bet_words({"version": 3, "versions": 2, "chance_best": 0.81, "expected_loss": 0.11})
    'if you must choose, version 3 is the better bet 8 times in 10, and gives away 0.1 points on average'
    """
    tenths = round(10 * bet["chance_best"])
    often = f"{tenths} times in 10" if tenths < 10 else "more than 9 times in 10"
    word = "better" if bet["versions"] == 2 else "best"
    loss = number(bet["expected_loss"], 1)
    given_away = f"gives away {loss} points on average" if float(loss) else "gives away next to nothing"
    return f"if you must choose, version {bet['version']} is the {word} bet {often}, and {given_away}"


def bet_basis(bet: Row) -> str:
    """What the bet rests on."""
    learned = (
        f"what {counted(bet['past_panels'], 'past panel')} of the house showed"
        if bet["past_panels"]
        else "no past panel yet"
    )
    usual = number(bet["usual_difference"], 1)
    return f"the bet rests on {learned}: two versions usually differ by some {usual} points"


def settling(row: Row, bet: Row | None) -> Iterator[str]:
    """What would settle it: more people, repeats, a difference test, or nothing practical."""
    if row["doubt"] is not None:
        yield {
            "order": "taste it again with the orders mixed, as 'stillroom panel plan' draws them",
            "sittings": "find out what differed between the sittings, then taste it once more",
        }[row["doubt"]]
        return
    if row["tasters_low"] is None:
        if row["panelists"] < 6:
            yield "six tasters or more would say more"
        return
    size = f"a difference of {number(row['worth_seeing'], 2).rstrip('0').rstrip('.')} points"
    if row["tasters_needed"] is None:
        yield f"nothing practical would settle it: {size} would take more than a thousand tasters to see"
        return
    more = row["tasters_needed"] - row["panelists"]
    if more <= 0:
        return
    least = max(row["tasters_low"] - row["panelists"], 0)
    most = "over 1000" if row["tasters_high"] is None else number(row["tasters_high"] - row["panelists"])
    people = f"about {counted(more, 'more taster')} would see {size} four times in five ({number(least)} to {most})"
    if bet is not None and bet["expected_loss"] <= LITTLE * row["worth_seeing"]:
        yield f"{people}, but so little is given away that nothing need be settled"
    elif row["tasters_needed"] > MOST_PRACTICAL:
        yield f"{people}, which is not practical: a difference test tells at least whether anyone notices"
    elif row["panelists"] < more and row["tasters_needed"] <= MOST_ROUNDS * row["panelists"]:
        rounds = ceil(row["tasters_needed"] / row["panelists"])
        yield f"{people}, or the same people in {rounds} rounds, as far as the scatter is their own"
    else:
        yield people
