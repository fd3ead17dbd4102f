"""Charts as Vega-Lite specifications, in plain dictionaries and in Altair's words.

Altair checks every part of a chart as it is made: right for whoever writes one, but the charts of a page take a second,
half of it Altair's import. The built-in reports' charts are made of few parts and known beforehand, so they are written
as Vega-Lite (version 6, https://vega.github.io/vega-lite/docs/) at once, and the tests have Altair check them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

import polars as pl

Spec = dict[str, Any]

_TYPES: Final = {"Q": "quantitative", "N": "nominal", "O": "ordinal", "T": "temporal"}
_ENDS: Final = ("x2", "y2")
"""Channels without a type of their own: that of the other end holds."""


@dataclass(frozen=True)
class Field:
    """A column, and how it is shown: `Field("serves:Q").title("serves a day")`.

    Without a letter for its type (Q, N, O, T) it has the one that goes with the column's.
    """

    shorthand: str
    properties: Spec = field(default_factory=dict)

    def title(self, text: str | None) -> Field:
        """What stands beside the axis, or over the legend."""
        return self._with("title", text)

    def sort(self, order: str | list[Any]) -> Field:
        """In which order values stand."""
        return self._with("sort", order)

    def scale(self, **how: Any) -> Field:
        """From values to places, colours or sizes."""
        return self._with("scale", how)

    def axis(self, **how: Any) -> Field:
        """Ticks, labels and lines."""
        return self._with("axis", how)

    def legend(self, **how: Any) -> Field:
        """A legend of these properties; none without any."""
        return self._with("legend", how or None)

    def _with(self, name: str, value: object) -> Field:
        return replace(self, properties=self.properties | {name: value})

    def spec(self, channel: str, frame: pl.DataFrame) -> Spec:
        """The definition of a channel."""
        name, _, letter = self.shorthand.partition(":")
        kind = {} if channel in _ENDS else {"type": _TYPES[letter] if letter else _type_of(frame.schema[name])}
        return {"field": name, **kind, **self.properties}


def told(shorthand: str, **how: str) -> Field:
    """A column that a mark tells of itself, under a title and in a format (d3-format)."""
    return Field(shorthand, how)


Channel = Field | str | list[Any]


@dataclass(frozen=True)
class View:
    """A mark on a frame, or several views together; every method gives another view."""

    parts: Spec
    frame: pl.DataFrame | None = None
    inner: Mapping[str, tuple[View, ...]] = field(default_factory=dict)
    """Views that it is made of, by how they stand: layer, concat, hconcat or, alone, spec."""

    def mark(self, kind: str, **how: Any) -> View:
        """With this mark."""
        return self.properties(mark={"type": kind, **how})

    def encode(self, **channels: Channel) -> View:
        """With these columns shown, beside those that are shown already."""
        assert self.frame is not None
        shown = {name: _encoded(name, channel, self.frame) for name, channel in channels.items()}
        return self.properties(encoding=self.parts.get("encoding", {}) | shown)

    def where(self, test: str) -> View:
        """Of those rows alone (a Vega expression)."""
        return self.properties(transform=[{"filter": test}])

    def properties(self, **parts: Any) -> View:
        """With these properties."""
        return replace(self, parts=self.parts | parts)

    def facet(self, by: Field, columns: int) -> View:
        """Once for each value of a column."""
        assert self.frame is not None
        parts = {"facet": by.spec("facet", self.frame), "columns": columns}
        return View(parts, self.frame, {"spec": (replace(self, frame=None),)})

    def chart(self) -> Spec:
        """The whole specification, each frame once."""
        frames: dict[int, pl.DataFrame] = {}
        for frame in self._frames():
            frames.setdefault(id(frame), frame)
        names = {key: f"data-{number}" for number, key in enumerate(frames, 1)}
        return self._spec(names) | {"datasets": {names[key]: _rows(frame) for key, frame in frames.items()}}

    def _frames(self) -> Iterator[pl.DataFrame]:
        if self.frame is not None:
            yield self.frame
        for views in self.inner.values():
            for view in views:
                yield from view._frames()

    def _spec(self, names: Mapping[int, str]) -> Spec:
        data = {} if self.frame is None else {"data": {"name": names[id(self.frame)]}}
        inner = {
            how: views[0]._spec(names) if how == "spec" else [view._spec(names) for view in views]
            for how, views in self.inner.items()
        }
        return {**data, **self.parts, **inner}


def on(frame: pl.DataFrame, **properties: Any) -> View:
    """A view of a frame, still without a mark."""
    return View(properties, frame)


def layer(*views: View) -> View:
    """Views on top of one another, of one size; the frame, where all have the same, they have together."""
    size: Spec = {name: view.parts[name] for view in views for name in ("width", "height") if name in view.parts}
    bare = [
        replace(view, parts={name: part for name, part in view.parts.items() if name not in size}) for view in views
    ]
    return _together("layer", bare, size)


def concat(*views: View, **how: Any) -> View:
    """Views beside and below one another."""
    return _together("concat", list(views), how)


def hconcat(*views: View) -> View:
    """Views beside one another."""
    return _together("hconcat", list(views), {})


def step(pixels: int) -> dict[str, int]:
    """A size of so many pixels for each value of the axis."""
    return {"step": pixels}


def _together(how: str, views: list[View], parts: Spec) -> View:
    frame = views[0].frame
    if frame is None or any(view.frame is not frame for view in views):
        return View(parts, None, {how: tuple(views)})
    return View(parts, frame, {how: tuple(replace(view, frame=None) for view in views)})


def _encoded(name: str, channel: Channel, frame: pl.DataFrame) -> Any:
    if isinstance(channel, list):
        return [_encoded(name, one, frame) for one in channel]
    return (Field(channel) if isinstance(channel, str) else channel).spec(name, frame)


def _type_of(dtype: pl.DataType) -> str:
    if dtype.is_numeric():
        return "quantitative"
    return "temporal" if dtype.is_temporal() else "nominal"


def _rows(frame: pl.DataFrame) -> list[Spec]:
    """Rows as JSON has them; a day begins at midnight where the reader is."""
    days = pl.selectors.date().cast(pl.Datetime).dt.to_string("%Y-%m-%dT%H:%M:%S")
    return frame.with_columns(days, pl.selectors.decimal().cast(pl.Float64)).to_dicts()
