"""Names beside the points of a chart, placed so that they do not lie on each other."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import polars as pl

from stillroom_plugins.reports._vega import Field, View

LETTER: Final = 6.6
"""Width of a letter of chart text in pixels, on the generous side."""
LINE: Final = 14.0
WIDEST: Final = 170
"""Pixels at which a long name is cut off; a point tells its whole name when it is pointed at."""


class _Box(NamedTuple):
    left: float
    right: float
    top: float
    bottom: float

    def overlap(self, other: _Box) -> float:
        wide = min(self.right, other.right) - max(self.left, other.left)
        high = min(self.bottom, other.bottom) - max(self.top, other.top)
        return wide * high if wide > 0 and high > 0 else 0.0


def placed_labels(frame: pl.DataFrame, *, x: str, y: str, text: str, width: int, height: int) -> pl.DataFrame:
    """The rows with a column `place`: right, left, above or below their point, whichever lies on least.

    Points are placed one after another from the left; each name goes where it overlaps points and names already
    placed, and the chart's edge, the least. Every point has its name.
    """
    if frame.is_empty():
        return frame.with_columns(pl.lit("right").alias("place"))
    spread_x = (min(0.0, float(frame[x].min() or 0)), float(frame[x].max() or 0))  # type: ignore[arg-type]
    spread_y = (float(frame[y].min() or 0), float(frame[y].max() or 0))  # type: ignore[arg-type]
    rows = frame.sort(x, y, text)
    points = [
        (_scaled(across, spread_x) * width, height - _scaled(up, spread_y) * height)
        for across, up in rows.select(x, y).rows()
    ]
    taken = [_Box(px - 5, px + 5, py - 5, py + 5) for px, py in points]
    places: list[str] = []
    for (px, py), name in zip(points, rows[text], strict=True):
        boxes = _candidates(px, py, min(LETTER * len(name), WIDEST))
        cost = {
            place: sum(box.overlap(other) for other in taken)
            + LINE * (max(0.0, -box.left) + max(0.0, box.right - width))
            for place, box in boxes.items()
        }
        best = min(cost, key=lambda place: cost[place])
        places.append(best)
        taken.append(boxes[best])
    return rows.with_columns(pl.Series("place", places, pl.String))


def label_layers(base: View, x: Field, y: Field, text: str, away: int) -> list[View]:
    """A layer of names for each place, of a chart whose rows `placed_labels` has given one.

    Args:
        text: the field that holds the names.
        away: how far from its point a name stands, in pixels.
    """
    marks: dict[str, dict[str, Any]] = {
        "right": {"align": "left", "dx": away},
        "left": {"align": "right", "dx": -away},
        "above": {"align": "center", "dy": -away - 4},
        "below": {"align": "center", "dy": away + 5},
    }
    names = base.encode(x=x, y=y, text=f"{text}:N")
    return [
        names.where(f"datum.place === '{place}'").mark("text", limit=WIDEST, **mark) for place, mark in marks.items()
    ]


def _scaled(value: float, spread: tuple[float, float]) -> float:
    return (value - spread[0]) / (spread[1] - spread[0]) if spread[1] > spread[0] else 0.5


def _candidates(px: float, py: float, wide: float) -> dict[str, _Box]:
    half = LINE / 2
    return {
        "right": _Box(px + 8, px + 8 + wide, py - half, py + half),
        "left": _Box(px - 8 - wide, px - 8, py - half, py + half),
        "above": _Box(px - wide / 2, px + wide / 2, py - 12 - half, py - 12 + half),
        "below": _Box(px - wide / 2, px + wide / 2, py + 13 - half, py + 13 + half),
    }
