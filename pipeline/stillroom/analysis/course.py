"""Does a series keep its level, did it step to another, or does it slope? And since when.

Level, slope and steps are compared by penalised likelihood: a slope costs one parameter, a step two, its size and its
place; a step at a place where something is known to have changed costs its size alone. The steps are those of the best
segmentation (Killick, Fearnhead & Eckley 2012, J. Am. Stat. Assoc. 107:1590; series here are short, so that all
segmentations are looked through and nothing need be pruned). Whether there is anything at all is told beforehand by a
permutation test of the same comparison: in a series that keeps its level every order is as likely, so it is right
whatever the values' distribution, and however many places a step could have (Good 2005, ch. 3, from memory).
"""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

LEVEL: Final = 0.04
"""Below which p-value something is told: a little below the 5 % of levels that may be told to step or slope, since
weeks of unlike length are exchangeable only nearly."""
PERMUTATIONS: Final = 1999
CLEARLY: Final = 2.0
"""Difference of Schwarz's criterion from which one of two is positively better (Kass & Raftery 1995, from memory)."""
LEAST: Final = 3
"""Values of a level of its own."""
MOST_STEPS: Final = 3
WORTH: Final = 2 / 3
"""Degrees of freedom that a successive difference is worth (von Neumann et al. 1941, Ann. Math. Stat. 12:153)."""

Kind = Literal["level", "step", "slope"]


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """How much values vary about their level, by what others like them do."""

    variance: float
    """Of a value of weight 1."""
    degrees: float
    """Of freedom that it is worth beside a series' own."""

    def drawn_to(self, left: np.ndarray) -> np.ndarray:
        """The variance of each row of standardised values: its own drawn to the usual one.

        Its own is that of successive differences (von Neumann 1941), which no step or slope can swell much.
        """
        pairs = left.shape[1] - 1
        own = (np.diff(left, axis=1) ** 2).sum(axis=1) / (2 * pairs)
        degrees = WORTH * pairs
        return np.asarray((self.degrees * self.variance + degrees * own) / (self.degrees + degrees))


@dataclass(frozen=True, kw_only=True)
class Course:
    """What a series does."""

    kind: Kind
    """What holds if `p_value` convinces: of a series without any scatter 'level'."""
    steps: tuple[int, ...]
    """Places at which a new level begins; none unless `kind` is 'step'."""
    slope: float
    """Change from place to place of the fitted line."""
    p_value: float
    mean: float
    """Of all."""
    fitted: tuple[float, ...]
    """The level in force, or the line, at each place."""

    @property
    def since(self) -> int:
        """Place from which the level in force holds."""
        return self.steps[-1] if self.steps else 0

    def told(self, adjusted: float | None = None) -> Course:
        """The same where it is clear, of several series by the adjusted p-value; the level of all where it is not."""
        if self.kind == "level" or (self.p_value if adjusted is None else adjusted) < LEVEL:
            return self
        return replace(self, kind="level", steps=(), fitted=(self.mean,) * len(self.fitted))


def course(
    values: Sequence[float] | np.ndarray,
    weights: Sequence[float] | np.ndarray | None = None,
    known: Sequence[int] = (),
    usual: Scatter | None = None,
) -> Course:
    """Compare level, steps and slope.

    Args:
        values: in their order.
        weights: how much each counts (inverse to its variance); all alike when None.
        known: places at which something is known to have changed.
        usual: how much such values vary about their level, where others like them tell; the test is then against
            normal values of that scatter in place of permutations, and sees more in short series.
    """
    y = np.asarray(values, dtype=float)
    w = np.ones(len(y)) if weights is None else np.asarray(weights, dtype=float)
    mean = float((w * y).sum() / w.sum())
    left = np.sqrt(w) * (y - mean)
    none = Course(kind="level", steps=(), slope=0.0, p_value=1.0, mean=mean, fitted=(mean,) * len(y))
    if len(y) < 2 * LEAST or float(np.abs(left).max()) <= 1e-9 * max(1.0, abs(mean)):
        return none
    places = [place for place in known if 1 < place < len(y) - 1]
    generator = np.random.default_rng(zlib.crc32(np.round(left, 9).tobytes()))
    if usual is None:
        others = generator.permuted(np.tile(left, (PERMUTATIONS, 1)), axis=1)
    else:
        others = generator.normal(0, usual.variance**0.5, size=(PERMUTATIONS, len(y)))
    rows = np.vstack([left, others])
    scale = None if usual is None else usual.drawn_to(rows)
    gains = _gains(rows / np.sqrt(w), w, places, scale)
    p_value = float((1 + (gains[1:] >= gains[0] - 1e-9).sum()) / (1 + PERMUTATIONS))
    slope, line = _line(y, w)
    own = None if scale is None else float(scale[0])
    steps, stepped = _steps(y, w, places, own)
    of_line, of_steps = (
        _criterion(y, w, line, 2, own),
        _criterion(y, w, stepped, _parameters(steps, places), own),
    )
    # A step whose place nothing explains must be clearly the better: a slope looks much like it in a few values.
    if of_line <= of_steps + (0 if set(steps) <= set(places) else CLEARLY):
        return replace(none, kind="slope", slope=slope, p_value=p_value, fitted=tuple(line.tolist()))
    return replace(none, kind="step", steps=steps, slope=slope, p_value=p_value, fitted=tuple(stepped.tolist()))


def _gains(rows: np.ndarray, w: np.ndarray, known: Sequence[int], scale: np.ndarray | None) -> np.ndarray:
    """For each row, the most that a slope, a step, or a step and its way back gain over a level, less their cost.

    Args:
        scale: each row's variance; that of what is left of it when None.
    """
    n = rows.shape[1]
    rows = rows - (rows @ w / w.sum())[:, None]
    whole = (rows**2) @ w
    x = np.arange(n) - (np.arange(n) * w).sum() / w.sum()
    slope = (rows @ (w * x)) ** 2 / float((w * x**2).sum())
    before = np.cumsum(w)[:-1]
    step = np.cumsum(rows * w, axis=1)[:, :-1] ** 2 * (1 / before + 1 / (w.sum() - before))
    free = step[:, LEAST - 1 : n - LEAST].max(axis=1)
    planned = step[:, [place - 1 for place in known]].max(axis=1) if known else np.zeros(len(rows))

    def likelihood(gained: np.ndarray) -> np.ndarray:
        if scale is not None:
            return np.asarray(gained / (2 * scale))
        return np.asarray(-n / 2 * np.log(np.maximum(1 - gained / whole, 1e-12)))

    cost = 0.5 * np.log(n)  # of each parameter beyond the first, in Schwarz's criterion
    one = np.maximum(np.maximum(likelihood(slope), likelihood(planned)), likelihood(free) - cost)
    return np.asarray(np.maximum(one, likelihood(_there_and_back(rows * w, w)) - 3 * cost))


def _there_and_back(weighed: np.ndarray, w: np.ndarray) -> np.ndarray:
    """For each row, the largest sum of squares between a stretch and the rest (Olshen et al. 2004, Biostatistics 5)."""
    sums = np.concatenate([np.zeros((len(weighed), 1)), np.cumsum(weighed, axis=1)], axis=1)
    weights = np.concatenate([[0.0], np.cumsum(w)])
    most = np.zeros(len(weighed))
    for length in range(LEAST, weighed.shape[1] - 2 * LEAST + 1):
        inside = (weights[length:] - weights[:-length])[LEAST:-LEAST]
        gained = (sums[:, length:] - sums[:, :-length])[:, LEAST:-LEAST] ** 2
        most = np.maximum(most, (gained * (1 / inside + 1 / (weights[-1] - inside))).max(axis=1))
    return most


def _line(y: np.ndarray, w: np.ndarray) -> tuple[float, np.ndarray]:
    x = np.arange(len(y)) - (np.arange(len(y)) * w).sum() / w.sum()
    mean = (w * y).sum() / w.sum()
    slope = float((w * x * y).sum() / (w * x**2).sum())
    return slope, mean + slope * x


def _steps(
    y: np.ndarray, w: np.ndarray, known: Sequence[int], scale: float | None
) -> tuple[tuple[int, ...], np.ndarray]:
    """The best segmentation with at least one step, and its levels."""
    n = len(y)
    sums, squares, weights = (np.concatenate([[0.0], np.cumsum(part)]) for part in (w * y, w * y**2, w))
    ends = np.arange(n + 1)
    length = ends[None] - ends[:, None]
    weight = np.where(length > 0, weights[None] - weights[:, None], 1.0)
    cost = squares[None] - squares[:, None] - (sums[None] - sums[:, None]) ** 2 / weight
    allowed = length >= LEAST
    for place in known:  # beside a known change, two values are a level
        allowed[place, :] |= length[place] >= 2
        allowed[:, place] |= length[:, place] >= 2
    cost = np.where(allowed, np.maximum(cost, 0.0), np.inf)
    best: tuple[float, tuple[int, ...], np.ndarray] | None = None
    reach, came = cost[0], []
    for _ in range(min(MOST_STEPS, n // LEAST - 1)):
        through = reach[:, None] + cost
        came.append(through.argmin(axis=0))
        reach = through.min(axis=0)
        if not np.isfinite(reach[n]):
            break
        steps = _traced(came, n)
        fitted = _levels(y, w, steps)
        criterion = _criterion(y, w, fitted, _parameters(steps, known), scale)
        if best is None or criterion < best[0]:
            best = criterion, steps, fitted
    for place in known:
        fitted = _levels(y, w, (place,))
        criterion = _criterion(y, w, fitted, 2, scale)
        if best is None or criterion < best[0]:
            best = criterion, (place,), fitted
    assert best is not None
    return best[1], best[2]


def _traced(came: Sequence[np.ndarray], end: int) -> tuple[int, ...]:
    steps = []
    for one in reversed(came):
        end = int(one[end])
        steps.append(end)
    return tuple(reversed(steps))


def _levels(y: np.ndarray, w: np.ndarray, steps: Sequence[int]) -> np.ndarray:
    fitted = np.empty(len(y))
    for begin, end in zip([0, *steps], [*steps, len(y)], strict=True):
        fitted[begin:end] = (w[begin:end] * y[begin:end]).sum() / w[begin:end].sum()
    return fitted


def _parameters(steps: Sequence[int], known: Sequence[int]) -> int:
    """A level, and for each step its size and, unless it is known, its place."""
    return 1 + sum(1 if step in known else 2 for step in steps)


def _criterion(y: np.ndarray, w: np.ndarray, fitted: np.ndarray, parameters: int, scale: float | None) -> float:
    """Schwarz's criterion of a normal series of a variance that is known, or not; of two perfect fits the simpler."""
    left = float((w * (y - fitted) ** 2).sum())
    if scale is not None:
        return float(left / scale + parameters * np.log(len(y)))
    least = 1e-12 * float((w * (y - (w * y).sum() / w.sum()) ** 2).sum())
    return float(len(y) * np.log(max(left, least) / len(y)) + parameters * np.log(len(y)))
