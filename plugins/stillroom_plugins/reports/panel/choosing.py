"""When the panel cannot tell, the maker still has to choose: the better bet, and what would settle it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import polars as pl

from stillroom.analysis.panel.sizes import FEWEST
from stillroom.words import counted, number, shortest
from stillroom_plugins.reports.panel.verdict_words import CLEAR, loser, winner

Row = dict[str, Any]
LITTLE: Final = 0.2
"""Share of a difference worth seeing that may be given away without another tasting."""
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


def has_rivals(headline: Row, bet: Row, differences: pl.DataFrame) -> bool:
    """Whether the version that wins the headline is the better bet, yet not clearly better than all others."""
    best = bet["version"]
    if headline["verdict"] not in CLEAR or winner(headline) != best:
        return False
    won = differences.filter(
        pl.col("spec") == headline["spec"],
        pl.col("attribute") == headline["attribute"],
        pl.col("sessions") == headline["sessions"],
        ((pl.col("verdict") == "better") & (pl.col("version") == best))
        | ((pl.col("verdict") == "worse") & (pl.col("against") == best)),
    )
    beaten = {loser(row) for row in won.iter_rows(named=True)}
    return len(beaten) < int(bet["versions"]) - 1


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
        f"{counted(bet['past_panels'], 'past panel')} of the house let the bet reckon"
        if bet["past_panels"]
        else "there is no past panel yet, so the bet reckons"
    )
    usual = number(bet["usual_difference"], 1)
    return f"{learned} with versions that differ by some {usual} points"


def settling(row: Row, bet: Row | None) -> Iterator[str]:
    """What would settle it: more people, repeats, a difference test, or nothing practical."""
    if row["doubt"] is not None:
        yield {
            "order": "taste it again with the orders mixed, as 'stillroom panel plan' draws them",
            "sittings": "find out what differed between the sittings, then taste it once more",
        }[row["doubt"]]
    elif row["planned"] is not None and row["sittings"] < row["planned"]:
        yield f"taste it again as planned, {counted(row['planned'] - row['sittings'], 'more sitting')} to come"
    elif row["panelists"] < FEWEST:
        yield "six tasters or more would say more"
    elif row["primary"] and row["se"] is not None:
        yield from _sizes(row, bet)


def _sizes(row: Row, bet: Row | None) -> Iterator[str]:
    size = f"a difference of {shortest(row['worth_seeing'])} points"
    if row["tasters_needed"] is None:
        yield f"nothing practical would settle it: {size} would take more than a thousand tasters to see"
        return
    if row["tasters_needed"] <= row["panelists"]:
        return
    most = "over 1000" if row["tasters_high"] is None else number(row["tasters_high"])
    people = (
        f"about {counted(row['tasters_needed'], 'taster')} in one sitting would see {size} four times in five "
        f"({number(row['tasters_low'])} to {most})"
    )
    if bet is not None and bet["expected_loss"] <= LITTLE * row["worth_seeing"]:
        yield f"{people}, but so little is given away that nothing need be settled"
    elif row["tasters_needed"] > MOST_PRACTICAL:
        yield f"{people}, which is not practical: a difference test tells at least whether anyone notices"
    else:
        yield f"{people}{_further(row)}"


def _further(row: Row) -> str:
    """What it takes on top of the scores there are, where no further sitting was planned."""
    more = None if row["tasters_again"] is None else row["tasters_again"] - row["panelists"]
    if more is None or more <= 0 or row["planned"] is not None:
        return ""
    rounds = row["rounds_again"]
    repeats = "" if rounds is None else f", or the same people in {rounds} rounds, as far as the scatter is their own"
    return f"; on top of these scores it takes about {number(more)} more{repeats}"
