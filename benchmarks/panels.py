"""What the panel report's statements are worth: simulated panels, their figures as in docs/simulations.md.

Every statement is made by the code that the report runs. Names after it run those parts alone; a number makes that many
panels, not 2 000, and keeps nothing.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from benchmarks.simulations import keep
from stillroom.analysis.panel.bets import Panel, bet_on, panel_of
from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.comparisons import all_pairs
from stillroom.analysis.panel.serving_design import serving_orders
from stillroom.analysis.panel.sizes import tasters_needed
from stillroom.analysis.panel.verdicts import compare_versions
from stillroom.analysis.panel.version_fit import Floats

PANELS: Final = 2_000
CLEAR: Final = pl.col("verdict").is_in(["better", "worse"])
BATCH: Final = 100
"""Panels in one call: each is a spec of its own."""
SPREADS: Final = (0.25, 0.5, 1.0)
"""Standard deviations of true levels, in residual standard deviations."""


def scores_of(
    rng: np.random.Generator, panels: int, people: int, effects: list[float], attributes: int = 1, sittings: int = 1,
    first_glass: float = 0.0, orders: str = "none",
) -> pl.DataFrame:  # fmt: skip
    """Scores as the view panel_scores has them, in tenths: levels of people 1.5, scatter 1, `effects` in liking alone.

    `orders`: 'balanced' as a session is drawn up, 'same': all have the last version first, 'none': not written down.
    """
    versions = len(effects)
    shape = (panels, attributes, sittings, people, versions)
    level = rng.normal(0, 1.5, (panels, attributes, 1, people, 1))
    liked = np.zeros((attributes, 1, 1, versions))
    liked[0, 0, 0] = effects
    score = 50 + level + liked + rng.normal(0, 1, shape)
    position = np.empty((panels, sittings, people, versions), int)
    for panel in range(panels if orders == "balanced" else 1):
        for sitting in range(sittings):
            drawn = serving_orders(versions, people, versions, rng) if orders == "balanced" else [
                tuple(range(versions))[::-1]
            ] * people  # fmt: skip
            position[panel, sitting] = np.argsort(np.array(drawn), axis=1) + 1
    if orders == "same":
        position[:] = position[0]
    score += first_glass * (position == 1)[:, None] if orders != "none" else 0.0
    score = score.round(1)
    at = np.indices(shape).reshape(5, -1)
    days = pl.Series([date(2026, 1, 1) + timedelta(days=7 * n) for n in range(sittings)])
    names = pl.Series(["liking", *(f"other {n}" for n in range(1, attributes))])
    stood = np.broadcast_to(position[:, None], shape).ravel()
    return pl.DataFrame(
        {
            "session": pl.Series(at[2]).cast(pl.String),
            "tasted_on": days[pl.Series(at[2])],
            "panelist": pl.Series(at[3]).cast(pl.String),
            "spec": pl.Series(at[0]).cast(pl.String),
            "version": at[4] + 1,
            "attribute": names[pl.Series(at[1])],
            "score": score.ravel(),
            "scale_low": np.zeros(len(stood)),
            "scale_high": np.full(len(stood), 8.0),
            "scale_kind": pl.Series(["intensity"] * len(stood)),
            "position": pl.Series(stood) if orders != "none" else pl.Series([None] * len(stood), dtype=pl.Int64),
        }
    )


def found(scores: pl.DataFrame) -> pl.DataFrame:
    """Differences in liking."""
    return compare_versions(scores).differences.filter("higher_is_better")


def batches(panels: int) -> Iterator[int]:
    """Numbers of panels that add up."""
    for first in range(0, panels, BATCH):
        yield min(BATCH, panels - first)


def share(condition: pl.Expr, frames: list[pl.DataFrame]) -> float:
    """Share of panels with at least one pair of which it holds."""
    every = pl.concat(
        [frame.with_columns(spec=pl.format("{} {}", pl.lit(n), "spec")) for n, frame in enumerate(frames)]
    )
    return float(every.group_by("spec").agg(condition.any().alias("any"))["any"].mean())  # type: ignore[arg-type]


def clear_alone(scores: pl.DataFrame, people: int, versions: int) -> pl.DataFrame:
    """Tukey's test on liking alone, nothing known of positions: whether any pair is clear, panel by panel."""
    liking = scores.filter(attribute="liking").sort(pl.col("spec").cast(pl.Int64), "panelist", "version")["score"]
    tables = liking.to_numpy().reshape(-1, people, versions)
    least = [min(pair.p for pair in all_pairs(fit_complete_blocks(table))) for table in tables]
    return pl.DataFrame({"spec": [str(n) for n in range(len(least))], "p": least})


def liking_first(panels: int) -> Iterator[str]:
    """False alarms of 'better or worse' in liking, and its power in half as many panels."""
    yield "| people × versions × attributes | positions | panels | false alarm | power at 1 SD | Tukey alone |"
    yield "|---|---|---:|---:|---:|---:|"
    for people, versions, attributes, part in ((6, 3, 4, 1), (5, 2, 5, 2), (4, 2, 3, 2), (8, 3, 4, 2)):
        for orders in ("none", "balanced"):
            rng = np.random.default_rng(people)
            liking, alone = {}, {}
            for effect in (0.0, 1.0):
                drawn_ = [
                    scores_of(rng, n, people, [0.0] * (versions - 1) + [effect], attributes, orders=orders)
                    for n in batches(panels // part if effect == 0 else panels // part // 2)
                ]
                liking[effect] = share(CLEAR, [found(scores) for scores in drawn_])
                alone[effect] = share(pl.col("p") <= 0.05, [clear_alone(one, people, versions) for one in drawn_])
            yield (
                f"| {people} × {versions} × {attributes} | {orders} | {panels // part} | {liking[0]:.1%} | "
                f"{liking[1]:.1%} | {alone[1]:.1%} |"
            )


def serving_order(panels: int) -> Iterator[str]:
    """Two versions alike; the first glass alone is liked more, by one SD.

    Of five people three have one version first; of twelve the first glass is taken out, of fewer it cancels.
    """
    yield "| people | the versions' order | false alarm | in doubt |"
    yield "|---:|---|---:|---:|"
    for people, orders in ((8, "same"), (5, "balanced"), (8, "balanced"), (12, "balanced")):
        rng = np.random.default_rng(7)
        frames = [
            found(scores_of(rng, n, people, [0.0, 0.0], first_glass=1.0, orders=orders)) for n in batches(panels // 2)
        ]
        in_doubt = share(pl.col("doubt") == "order", frames)
        yield f"| {people} | {orders} | {share(CLEAR, frames):.1%} | {in_doubt:.1%} |"


def looking_again(panels: int) -> Iterator[str]:
    """Two versions, six people, five sittings, looked at after each; an eighth as many panels."""
    yield "| people | looks planned | ever 'better or worse' where alike | so at the last, 0.7 SD apart |"
    yield "|---|---|---:|---:|"
    for same, looks in ((True, None), (False, None), (True, 5), (False, 5)):
        figures = []
        for effect in (0.0, 0.7):
            rng = np.random.default_rng(11)
            frames = []
            for n in batches(panels // 8):
                scores = scores_of(rng, n, 6, [0.0, effect], sittings=5).with_columns(looks=pl.lit(looks, pl.Int64))
                if not same:
                    scores = scores.with_columns(panelist=pl.format("{} {}", "session", "panelist"))
                at_each = [
                    found(scores.filter(pl.col("session").cast(pl.Int64) <= sitting))
                    for sitting in (range(5) if effect == 0 else (4,))
                ]
                frames.append(pl.concat(at_each))
            figures.append(share(CLEAR, frames))
        people = "the same" if same else "others each time"
        yield f"| {people} | {'yes' if looks else 'no'} | {figures[0]:.1%} | {figures[1]:.1%} |"


def sizes_hold(panels: int) -> Iterator[str]:
    """The number of tasters named for four times in five where the scatter is known, and how often they do see it.

    A quarter as many panels, so that a share of 80 % is known to within 3.5 %.
    """
    yield "| versions | difference, SD | tasters named | seen |"
    yield "|---|---:|---:|---:|"
    for versions, size in ((2, 0.5), (3, 0.7), (4, 1.0)):
        needed = tasters_needed(1.0, versions, size, versions * (versions - 1) // 2)
        assert needed is not None
        rng = np.random.default_rng(13)
        effects = [0.0] * (versions - 1) + [size]
        pair = (pl.col("version") == versions) & (pl.col("against") == 1)
        frames = [found(scores_of(rng, n, needed, effects)).filter(pair) for n in batches(panels // 4)]
        yield f"| {versions} | {size} | {needed} | {share(CLEAR, frames):.1%} |"


def drawn(rng: np.random.Generator, spread: float, people: int, versions: int) -> tuple[Floats, Panel]:
    """True levels and what a panel says of them."""
    true = rng.normal(0, spread, versions)
    scores = true + rng.normal(0, 1.5, (people, 1)) + rng.normal(0, 1, (people, versions))
    return true, panel_of(fit_complete_blocks(scores))


def bets_hold(panels: int) -> Iterator[str]:
    """Of 'the better bet x times in 10', how many times in 10 it is; and points given away, as said and in truth.

    Six people, two or three versions, true levels that scatter by 0.25, 0.5 or 1 SD, alike often.
    """
    tenths = range(4, 11)
    yield f"| past panels | true spread | {' | '.join(f'{x} in 10' for x in tenths)} | said | given away |"
    yield "|---" + "|---:" * (len(tenths) + 3) + "|"
    rng = np.random.default_rng(17)
    for past in (0, 10):
        said: list[tuple[float, float, bool, float, float]] = []
        for spread in SPREADS:
            pool = [drawn(rng, spread, 6, 2 + n % 2)[1] for n in range(400)]
            for number in range(3 * panels):
                before = [pool[n] for n in rng.choice(len(pool), past, replace=False)]
                true, panel = drawn(rng, spread, 6, 2 + number % 2)
                bet = bet_on(panel, before)
                best = int(bet.chance_best.argmax())
                right, lost = bool(best == true.argmax()), float(true.max() - true[best])
                said.append((spread, float(bet.chance_best[best]), right, float(bet.expected_loss[best]), lost))
        rows = pl.DataFrame(said, schema=["spread", "chance", "right", "said", "lost"], orient="row")
        rows = rows.with_columns(tenths=(10 * pl.col("chance")).round().cast(pl.Int64))
        for name, of in (("all", rows), *((f"{spread}", rows.filter(spread=spread)) for spread in SPREADS)):
            cells = [of.filter(tenths=x)["right"] for x in tenths]
            right_of = [f"{10 * cell.to_numpy().mean():.1f} ({len(cell)})" if len(cell) >= 50 else "" for cell in cells]
            means = of.select(pl.col("said", "lost").mean()).row(0)
            yield f"| {past} | {name} | {' | '.join(right_of)} | {means[0]:.2f} | {means[1]:.2f} |"


PARTS: Final = (liking_first, bets_hold, looking_again, sizes_hold, serving_order)


def main() -> None:
    """All of them, or those named."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    named = [word for word in sys.argv[1:] if not word.isdigit()]
    for part in (part for part in PARTS if not named or part.__name__ in named):
        lines = []
        for line in part(*(numbers or [PANELS])):
            print(line, flush=True)
            lines.append(line)
        if not numbers:
            keep(f"panels, {part.__name__}", [inspect.getdoc(part) or "", "", *lines])


if __name__ == "__main__":
    main()
