"""Amounts that meet several aims at once: cheapest, or nearest to what they are today.

The parts of a mixture are masses, which add up; only volume is not quite a sum of its parts. So the aims are linear or
nearly so, and a short series of linear programmes finds the amounts: each is exact for the aims as they look at the
amounts found before (successive linear programming; Griffith & Stewart 1961, Management Science 7:379). Each is solved
twice: first the least total miss that bounds allow, then the cheapest or nearest amounts of all with that miss. What a
scale or a measure cannot give is decided last, in whole steps (SciPy's HiGHS).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from stillroom.analysis.bench.aims import Aim

Prefer = Literal["near", "cheap"]
ROUNDS: Final = 30
MET: Final = 1e-6
"""An aim is met that is missed by no more than this share of what it asks for."""
STEPS_AROUND: Final = 4
"""Steps of scale or measure to either side of the exact amount that are tried."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """One amount that may change."""

    item: str
    today: float
    """In its base unit: ml, g or pieces."""
    low: float
    high: float
    step: float
    """The least that can be told apart when it is measured out."""
    unit_cost: float
    """Of one base unit; 0 where it is not known."""


@dataclass(frozen=True, kw_only=True)
class Found:
    """Amounts, in the order of the parts."""

    exact: tuple[float, ...]
    measured: tuple[float, ...]
    """In whole steps."""
    at_odds: tuple[Aim, ...]
    """Aims that exclude one another within the bounds: without any one of them the rest can be met. None if all can."""


Array = np.ndarray[Any, np.dtype[np.float64]]
Misses = Callable[[Array], Array]
"""Amounts -> how far each aim is missed, as a share of what it asks for (`aims.miss`)."""


def solve(parts: Sequence[Part], aims: Sequence[Aim], misses: Misses, prefer: Prefer) -> Found:
    """The amounts that meet the aims, or come nearest.

    Args:
        misses: of all `aims`, in their order; smooth in the amounts.
    """
    exact, total = _exact(parts, aims, misses, prefer)
    at_odds: tuple[Aim, ...] = ()
    if total > MET:
        at_odds = _at_odds(parts, aims, misses, prefer)
    measured = _measured(parts, aims, misses, exact)
    return Found(exact=tuple(exact), measured=tuple(measured), at_odds=at_odds)


def _exact(parts: Sequence[Part], aims: Sequence[Aim], misses: Misses, prefer: Prefer) -> tuple[Array, float]:
    """Amounts, and what is missed of all aims together."""
    amounts = np.array([float(min(max(part.today, part.low), part.high)) for part in parts])
    for _ in range(ROUNDS):
        before = amounts
        amounts = _step(parts, aims, misses, prefer, amounts)
        if np.all(np.abs(amounts - before) <= 1e-9 * np.maximum(1.0, np.abs(before))):
            break
    return amounts, float(np.sum(missed(aims, misses(amounts))))


def missed(aims: Sequence[Aim], values: Array) -> Array:
    """The part of each miss that counts, 0 or more."""
    above, below = _what_counts(aims)
    return above * np.maximum(values, 0.0) + below * np.maximum(-values, 0.0)


def _step(parts: Sequence[Part], aims: Sequence[Aim], misses: Misses, prefer: Prefer, around: Array) -> Array:
    """The best amounts if the aims went on as they do around these amounts.

    Variables: amounts (n), distances from today (n), misses above (m), misses below (m).
    """
    from scipy.optimize import linprog

    n, m = len(parts), len(aims)
    slope = _slopes(misses, around)
    exactly = np.hstack([slope, np.zeros((m, n)), -np.eye(m), np.eye(m)])
    right = slope @ around - misses(around)
    today = np.array([part.today for part in parts])
    far = np.hstack([np.vstack([np.eye(n), -np.eye(n)]), -np.vstack([np.eye(n), np.eye(n)]), np.zeros((2 * n, 2 * m))])
    far_at_most = np.concatenate([today, -today])
    bounds = [(part.low, part.high) for part in parts] + [(0, None)] * (n + 2 * m)
    missing = np.concatenate([np.zeros(2 * n), *_what_counts(aims)])
    least: Any = linprog(missing, far, far_at_most, exactly, right, bounds=bounds)
    if not least.success:
        return around
    best: Any = linprog(
        np.concatenate([*_wish(parts, prefer), np.zeros(2 * m)]),
        np.vstack([far, missing]),
        np.append(far_at_most, least.fun + 1e-9),
        exactly,
        right,
        bounds=bounds,
    )
    return np.asarray((best if best.success else least).x[:n])


def _what_counts(aims: Sequence[Aim]) -> tuple[Array, Array]:
    """Weights of what lies above and of what lies below: 'at most' may lie below, 'at least' above."""
    above = np.array([float(aim.relation != ">=") for aim in aims])
    below = np.array([float(aim.relation != "<=") for aim in aims])
    return above, below


def _wish(parts: Sequence[Part], prefer: Prefer) -> tuple[Array, Array]:
    """Weights of the amounts and of their distances from today.

    Of several ways that cost the same, the nearest is taken.
    """
    distance = _per_amount(np.array([part.today for part in parts]))
    if prefer == "near":
        return np.zeros(len(parts)), distance
    return np.array([part.unit_cost for part in parts]), 1e-9 * distance


def _slopes(misses: Misses, around: Array) -> Array:
    """How much each aim's miss moves with each amount, by small steps to either side; shape (aims, parts)."""
    columns = []
    for place, amount in enumerate(around):
        by = max(1e-4 * abs(amount), 1e-4)
        up, down = around.copy(), around.copy()
        up[place] += by
        down[place] = max(amount - by, 0.0)
        columns.append((misses(up) - misses(down)) / (up[place] - down[place]))
    return np.array(columns).T


def _at_odds(parts: Sequence[Part], aims: Sequence[Aim], misses: Misses, prefer: Prefer) -> tuple[Aim, ...]:
    """A smallest set of aims that cannot all be met: each is left out in turn, and stays out if the rest still cannot.

    (The deletion filter of Chinneck & Dravnieks 1991, ORSA Journal on Computing 3:157.)
    """
    kept = list(range(len(aims)))
    for place in range(len(aims)):
        rest = [one for one in kept if one != place]
        if rest and _exact(parts, [aims[one] for one in rest], _only(misses, rest), prefer)[1] > MET:
            kept = rest
    return tuple(aims[one] for one in kept)


def _only(misses: Misses, places: list[int]) -> Misses:
    return lambda amounts: misses(amounts)[places]


def _measured(parts: Sequence[Part], aims: Sequence[Aim], misses: Misses, exact: Array) -> Array:
    """Whole steps near the exact amounts: those that miss the aims little and round little, together.

    An amount rounded by a tenth of itself counts as much as an aim missed by a hundredth.

    Variables: steps (n, whole numbers), distances from the exact amounts (n), misses above (m), misses below (m).
    """
    from scipy.optimize import Bounds, LinearConstraint, milp

    n, m = len(parts), len(aims)
    step, low, high = (np.array([getattr(part, name) for part in parts]) for name in ("step", "low", "high"))
    slope = _slopes(misses, exact)
    rows = np.hstack([slope * step, np.zeros((m, n)), -np.eye(m), np.eye(m)])
    right = slope @ exact - misses(exact)
    to_either_side = np.vstack([np.diag(step), -np.diag(step)])
    apart = np.hstack([to_either_side, -np.vstack([np.eye(n)] * 2), np.zeros((2 * n, 2 * m))])
    least = np.maximum(np.floor(exact / step) - STEPS_AROUND, np.ceil(low / step - 1e-9))
    most = np.minimum(np.ceil(exact / step) + STEPS_AROUND, np.floor(high / step + 1e-9))
    rest = n + 2 * m
    result: Any = milp(
        np.concatenate([np.zeros(n), 0.1 * _per_amount(exact), *_what_counts(aims)]),
        integrality=np.concatenate([np.ones(n), np.zeros(rest)]),
        bounds=Bounds(np.concatenate([least, np.zeros(rest)]), np.concatenate([most, np.full(rest, np.inf)])),
        constraints=[
            LinearConstraint(rows, right, right),
            LinearConstraint(apart, -np.inf, np.concatenate([exact, -exact])),
        ],
    )
    if result.x is None:  # bounds so tight that no whole step lies between them
        return exact
    return np.asarray(np.round(result.x[:n]) * step)


def _per_amount(amounts: Array) -> Array:
    """What makes distances shares of these amounts; of small ones, shares of a twentieth of the largest."""
    return np.asarray(1.0 / np.maximum(amounts, max(float(np.max(amounts, initial=0.0)) / 20, 1e-9)))
