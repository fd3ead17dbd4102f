"""Funnel charts: every house by what its figure is worth, with the limits of chance."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl

from stillroom_plugins.reports._labels import label_layers, placed_labels
from stillroom_plugins.reports._vega import Field, View, layer, on, told
from stillroom_plugins.reports.houses.beside import Beside

WIDTH, HEIGHT = 640, 260
STEPS: Final = 60
USUAL: Final = 0.05
MOST: Final = 1000
"""Houses that are dots: of more, those outside and the first of the rest."""


def funnel_chart(one: Beside) -> View:
    """Dots for houses, lines for the limits, names beside those outside."""
    # Log axes start above nought: a house is worth at least a part of one unit.
    known = one.rows["worth"].to_numpy()
    worth = np.geomspace(max(0.5, 0.9 * known.min()), 1.1 * known.max(), STEPS)
    limits = []
    for name, chance in (("inner", USUAL), ("outer", one.funnel.outer(one.things))):
        low, high = one.funnel.ends(worth, chance)
        limits += [
            {"limit": name, "worth": w, "low": lo, "high": hi} for w, lo, hi in zip(worth, low, high, strict=True)
        ]
    ends = pl.DataFrame(limits)
    of = "batches lost whole or not at all" if one.kind == "preparation" else "serves"
    x = (
        Field("worth:Q")
        .scale(type="log", nice=False)
        .title(f"what the house's figure is worth, in {of}")
        .axis(grid=False, tickCount=5)
    )
    y = (
        Field("share:Q")
        .title("lost" if one.kind == "preparation" else "of all serves")
        .axis(format="%")
        .scale(zero=True)
    )
    lines = [
        on(ends.filter(pl.col("limit") == name).rename({side: "share"}).select("worth", "share"))
        .mark("line", strokeWidth=1, strokeDash=dash, style="reference")
        .encode(x=x, y=y)
        for name, dash in (("inner", [2, 3]), ("outer", [6, 3]))
        for side in ("low", "high")
    ]
    dots = one.rows.sort(pl.col("lies") == "").head(MOST).select("house", "worth", "share", "pooled", "lies")
    tooltip = ["house", *(told(name, format=".1%") for name in ("share", "pooled"))]
    layers: list[View] = [
        on(pl.DataFrame({"at": [one.funnel.target]})).mark("rule", style="reference").encode(y=Field("at:Q")),
        *lines,
        on(dots.filter(pl.col("lies") == "")).mark("point", style="normal").encode(x=x, y=y, tooltip=tooltip),
    ]
    named = dots.filter(pl.col("lies") != "")
    if named.height:
        placed = placed_labels(
            named.with_columns(log=pl.col("worth").log()), x="log", y="share", text="house", width=WIDTH, height=HEIGHT
        ).drop("log")
        base = on(placed)
        style = "lost" if one.kind == "preparation" else "dated"
        layers.append(base.mark("point", style=style).encode(x=x, y=y, tooltip=tooltip))
        layers += label_layers(base, x, y, "house", 7)
    return layer(*layers).properties(height=HEIGHT)
