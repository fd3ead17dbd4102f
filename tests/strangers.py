"""Plugins of strangers, for tests: installed beside the built-in ones for as long as a test lasts."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from importlib.metadata import EntryPoint
from types import ModuleType
from typing import Any

import polars as pl
import pytest

from stillroom import hookimpl
from stillroom.objects import Report, ReportInputs, ReportResult, Source, SourceFile, TextBatch
from stillroom.plugins import registry


def install(monkeypatch: pytest.MonkeyPatch, **plugins: dict[str, Any]) -> None:
    """From now on these are found, too: the name of an entry point -> hook -> what it returns, or a function."""
    points = []
    for name, hooks in plugins.items():
        module = ModuleType(name)
        for hook, things in hooks.items():
            setattr(module, hook, _hook(hook, things))
        monkeypatch.setitem(sys.modules, name, module)
        points.append(EntryPoint(name=name, value=name, group="stillroom"))
    monkeypatch.setattr(registry, "entry_points", lambda group: points)


def _hook(name: str, things: Any) -> Callable[[], Any]:
    def implementation() -> Any:
        return things() if callable(things) else things

    implementation.__name__ = name
    return hookimpl(implementation)


def report(name: str, build: Callable[[ReportInputs], ReportResult], *needs: str) -> Report:
    """A report that answers as `build` does."""
    return Report(name=name, title=name.capitalize(), question="Q?", needs=needs, build=build)


def source(name: str, table: str, read: Callable[[SourceFile], Iterator[TextBatch]], *headings: str) -> Source:
    """A source whose files have these headings and whose rows `read` gives."""
    return Source(name=name, title="T", tables=(table,), headings=lambda file: list(headings), read=read)


def batch(rows: list[dict[str, Any]]) -> TextBatch:
    """Rows as a source yields them; the first is row 2."""
    frame = pl.DataFrame(rows).select(pl.all().cast(pl.String))
    return TextBatch(rows=frame, row_numbers=pl.int_range(2, 2 + frame.height, eager=True))
