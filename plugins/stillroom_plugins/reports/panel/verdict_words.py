"""What the verdicts on liking amount to, as a bar lead says it: the best first, then every other clear pair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from stillroom.words import counted, listed, number

Row = dict[str, Any]
CLEAR: Final = ("better", "worse")
MOST_PAIRS: Final = 3
"""Pairs that are all named one by one, those that cannot be told apart too."""
MOST_OTHERS: Final = 4
"""Further clear pairs in the sentence; the evidence names all."""


def verdicts(found: Sequence[Row], means: Mapping[int, float], serving: int | None) -> str:
    """The sentence on the pairs of one attribute, without the spec's name; `means`: adjusted mean of each version."""
    clear = [row for row in found if row["verdict"] in CLEAR]
    if not clear:
        return _none_clear(found, serving)
    ordered = by_winner(clear, means)
    best = winner(ordered[0])
    of_best = [row for row in ordered if winner(row) == best]
    rest = [row for row in ordered if winner(row) != best]
    said = [_beats(best, of_best, serving)]
    said += [_other(row, serving, ordered[0]) for row in rest[:MOST_OTHERS]]
    if len(rest) > MOST_OTHERS:
        said.append(f"{counted(len(rest) - MOST_OTHERS, 'more pair')} clearly apart, see below")
    unclear = [row for row in found if row["verdict"] not in CLEAR]
    if len(found) <= MOST_PAIRS:
        said += [pair(row, serving) for row in unclear]
    elif unclear:
        said.append("the other pairs cannot be told apart")
    return "; ".join(said)


def by_winner(clear: Sequence[Row], means: Mapping[int, float]) -> list[Row]:
    """Pairs won by the version with the highest mean first, widest first among those of one version."""
    return sorted(clear, key=lambda row: (-means[winner(row)], winner(row), -abs(row["difference"]), row["p_all"]))


def winner(row: Row) -> int:
    """The version of a clear pair that is liked better."""
    return int(row["version"] if row["difference"] > 0 else row["against"])


def loser(row: Row) -> int:
    """The other one."""
    return int(row["against"] if row["difference"] > 0 else row["version"])


def version(number_: int, serving: int | None) -> str:
    """A version by its number, and whether it is the one in service."""
    return f"version {number_} (in service)" if number_ == serving else f"version {number_}"


def points(difference: float) -> str:
    """A difference in points, with its sign.

    >>> points(0.84), points(-1)
    ('+0.8 points', '\u22121.0 points')
    """
    return f"{'+' if difference > 0 else ''}{number(difference, 1)} points"


def _beats(best: int, won: Sequence[Row], serving: int | None) -> str:
    if len(won) == 1:
        row = won[0]
        return f"{_all_of(row)}{version(best, serving)} is liked better than {version(loser(row), serving)}, {_by(row)}"
    named = [f"{version(loser(row), serving)} ({_by(row)})" for row in won]
    return f"{version(best, serving)} is liked better than {listed(named, most=12)}"


def _all_of(row: Row) -> str:
    """Where all agree to the point, that is the whole of the evidence."""
    return f"all {row['tasted_both']} tasters agree to the point: " if row["se"] is None else ""


def _other(row: Row, serving: int | None, headline: Row) -> str:
    perhaps = "probably " if row["sureness"] == "likely" and headline["sureness"] == "sure" else ""
    if loser(row) != serving and winner(row) == serving:
        return f"{version(loser(row), None)} is {perhaps}liked less than {version(serving, serving)}, {_by(row)}"
    return f"{version(winner(row), serving)} is {perhaps}liked better than {version(loser(row), serving)}, {_by(row)}"


def _by(row: Row) -> str:
    return f"by {number(abs(row['difference']), 1)} points"


def _none_clear(found: Sequence[Row], serving: int | None) -> str:
    if len(found) <= MOST_PAIRS:
        return "; ".join(pair(row, serving) for row in found)
    doubted = [pair(row, serving) for row in found if row["doubt"] is not None]
    versions = len({row[side] for row in found for side in ("version", "against")})
    said = f"the panel cannot tell any two of {counted(versions, 'version')} apart"
    return "; ".join([said, *doubted[:MOST_OTHERS]])


def pair(row: Row, serving: int | None) -> str:
    """A pair that is not clearly apart."""
    newer, older = version(row["version"], serving), version(row["against"], serving)
    if row["verdict"] == "as good as":
        within = f"it is not worse by the margin of {number(row['worth_seeing'], 1)} points"
        alike = " nor better by as much" if row["high"] < row["worth_seeing"] else ""
        return f"{newer} is as good as {older}: {within}{alike}"
    start = f"cannot tell {newer} from {older}"
    if row["doubt"] == "order":
        return (
            f"{start}: the order of serving goes with the version, so the {points(row['difference'])} may come from "
            "who stood first in the glasses, not from what was in them"
        )
    if row["doubt"] == "sittings":
        return f"{start}: the sittings contradict one another ({row['by_sitting'].replace('-', chr(0x2212))})"
    if (
        row["se"] is None
        and row["tasted_both"]
        and abs(row["scored_higher"] - row["scored_lower"]) == row["tasted_both"]
    ):
        liked, other = (newer, older) if row["difference"] > 0 else (older, newer)
        return (
            f"{start}: all {counted(row['tasted_both'], 'taster')} like {liked} better than {other}, each {_by(row)}, "
            f"but so few agree by chance alone 1 time in {2 ** (row['tasted_both'] - 1)}"
        )
    return f"{start}: the difference is {points(row['difference'])}"
