"""What the verdicts on liking amount to, as a bar lead says it: the best first, then every other clear pair."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from stillroom.objects import Sureness
from stillroom.words import counted, listed, number

Row = dict[str, Any]
CLEAR: Final = ("better", "worse")
MOST_OTHERS: Final = 4
"""Further clear pairs in the sentence; the evidence names all."""


def verdicts(found: Sequence[Row], means: Mapping[int, float], serving: int | None) -> str:
    """The sentence on the pairs of one attribute, without the spec's name; `means`: adjusted mean of each version."""
    clear = by_winner([row for row in found if row["verdict"] in CLEAR], means)
    said = _clearly(clear, serving) if clear else []
    unclear = [row for row in found if row["verdict"] not in CLEAR]
    if len(unclear) == 1:
        said += [pair(row, serving) for row in unclear]
    else:
        said += _summed_up(unclear, serving, after=bool(clear))
    return "; ".join(said)


def how_sure(found: Sequence[Row], headline: Row) -> Sureness:
    """As sure as the headline; of versions that are as good as one another, as the least sure pair."""
    told = [headline] if headline["verdict"] != "as good as" else found
    likely = any(row["sureness"] == "likely" for row in told)
    return "likely" if likely else headline["sureness"]


def _clearly(clear: Sequence[Row], serving: int | None) -> list[str]:
    best = winner(clear[0])
    rest = [row for row in clear if winner(row) != best]
    said = [_beats(best, [row for row in clear if winner(row) == best], serving)]
    said += [_other(row, serving, clear[0]) for row in rest[:MOST_OTHERS]]
    if len(rest) > MOST_OTHERS:
        said.append(f"{counted(len(rest) - MOST_OTHERS, 'more pair')} clearly apart, see below")
    return said


def _summed_up(unclear: Sequence[Row], serving: int | None, *, after: bool) -> list[str]:
    """Many pairs that are not clearly apart, in a few words; `after`: others were named before."""
    as_good = [row for row in unclear if row["verdict"] == "as good as"]
    doubted = [row for row in unclear if row["doubt"] is not None]
    open_ = [row for row in unclear if row["verdict"] == "cannot tell" and row["doubt"] is None]
    said = [_none_worse(as_good, serving, every=not after and len(as_good) == len(unclear))] if as_good else []
    by_order = [row for row in doubted if row["doubt"] == "order"]
    if len(by_order) > 1:
        said.append(_by_order(by_order))
        doubted = [row for row in doubted if row["doubt"] != "order"]
    said += [pair(row, serving) for row in doubted[:MOST_OTHERS]]
    if len(doubted) > MOST_OTHERS:
        said.append(f"{counted(len(doubted) - MOST_OTHERS, 'more pair')} in such doubt")
    if len(open_) == 1:
        said.append(pair(open_[0], serving))
    elif open_:
        said.append(_cannot_tell(open_, serving, others=after or len(open_) < len(unclear)))
    return said


def _by_order(rows: Sequence[Row]) -> str:
    widest = max(rows, key=lambda row: abs(row["difference"]))
    pairs = [f"{row['version']} from {row['against']}" for row in rows]
    return (
        f"cannot tell versions {listed(pairs, most=MOST_OTHERS)}: the order of serving goes with the version, so what "
        f"they differ by, {number(abs(widest['difference']), 1)} points at most, may come from which glass came first, "
        "not from what was in it"
    )


def _none_worse(rows: Sequence[Row], serving: int | None, *, every: bool) -> str:
    margin = f"by the margin of {number(rows[0]['worth_seeing'], 1)} points"
    if every and all(row["high"] < row["worth_seeing"] for row in rows):
        rest = _held_against(rows, serving)
        if rest:
            return f"{rest} do not differ from {version(serving or 0, serving)} {margin}"
        return f"no two of {counted(len(_versions(rows)), 'version')} differ {margin}"
    ordered = sorted(rows, key=lambda row: (row["version"], row["against"]))
    newer = [f"{version(row['version'], serving)} as {version(row['against'], serving)}" for row in ordered]
    return f"not worse {margin}, so as good: {listed(newer, most=MOST_OTHERS)}"


def _cannot_tell(rows: Sequence[Row], serving: int | None, *, others: bool) -> str:
    rest = _held_against(rows, serving)
    if others and not rest:
        return "the other pairs cannot be told apart"
    which = (
        f"{rest} from {version(serving or 0, serving)}"
        if rest
        else f"any two of {counted(len(_versions(rows)), 'version')} apart"
    )
    widest = max(rows, key=lambda row: abs(row["difference"]))
    if _agreed(widest):
        return f"the panel cannot tell {which}: {_agreement(widest)}"
    at_most = f"{number(abs(widest['difference']), 1)} points (version {winner(widest)} over version {loser(widest)})"
    return f"the panel cannot tell {which}: they differ by {at_most} at most"


def _agreed(row: Row) -> bool:
    """All tasters agree to the point, in this pair as in all others."""
    return row["se"] is None and row["doubt"] is None and row["tasted_both"] > 0


def _agreement(row: Row) -> str:
    """What all tasters agree in, where that is not enough."""
    all_of = f"all {counted(row['tasted_both'], 'taster')}"
    if row["difference"] == 0:
        return f"{all_of} gave them the same points"
    return (
        f"{all_of} like version {winner(row)} better than version {loser(row)}, each {_by(row)}, but so few agree by "
        f"chance alone 1 time in {2 ** (row['tasted_both'] - 1)}"
    )


def _versions(rows: Sequence[Row]) -> list[int]:
    return sorted({row[side] for row in rows for side in ("version", "against")})


def _held_against(rows: Sequence[Row], serving: int | None) -> str:
    """The versions that were held against the one in service alone; empty where others were held against each other."""
    if not all(serving in (row["version"], row["against"]) for row in rows):
        return ""
    rest = [str(one) for one in _versions(rows) if one != serving]
    return f"version{'s' if len(rest) > 1 else ''} {listed(rest, most=12)}"


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
    named = [
        f"{perhaps(row['sureness'], won[0]['sureness'])}{version(loser(row), serving)} ({_by(row)})" for row in won
    ]
    return f"{_all_of(won[0])}{version(best, serving)} is liked better than {listed(named, most=12)}"


def perhaps(sureness: str, headline: str) -> str:
    """What is less sure than the headline says so.

    >>> perhaps("likely", "sure"), perhaps("likely", "likely")
    ('probably ', '')
    """
    return "probably " if sureness == "likely" and headline == "sure" else ""


def _all_of(row: Row) -> str:
    """Where all agree to the point, that is the whole of the evidence."""
    return f"all {row['tasted_both']} tasters agree to the point: " if _agreed(row) else ""


def _other(row: Row, serving: int | None, headline: Row) -> str:
    probably = perhaps(row["sureness"], headline["sureness"])
    if loser(row) != serving and winner(row) == serving:
        return f"{version(loser(row), None)} is {probably}liked less than {version(serving, serving)}, {_by(row)}"
    return f"{version(winner(row), serving)} is {probably}liked better than {version(loser(row), serving)}, {_by(row)}"


def _by(row: Row) -> str:
    return f"by {number(abs(row['difference']), 1)} points"


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
            "which glass came first, not from what was in it"
        )
    if row["doubt"] == "sittings":
        return f"{start}: the sittings contradict one another ({row['by_sitting'].replace('-', chr(0x2212))})"
    if _agreed(row):
        return f"{start}: {_agreement(row)}"
    return f"{start}: the difference is {points(row['difference'])}"
