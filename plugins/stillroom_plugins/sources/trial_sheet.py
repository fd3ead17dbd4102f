"""What a panel answered in difference and preference tests."""

from __future__ import annotations

from collections.abc import Iterator

from stillroom import hookimpl
from stillroom.answers.panel_plan.resolving import resolve_answers
from stillroom.objects import Source, SourceFile, TextBatch
from stillroom.reading import read_headings
from stillroom_plugins.sources._by_key import read_by_key


@hookimpl
def register_sources() -> list[Source]:
    """The trial sheet."""
    return [
        Source(
            name="trial-sheet",
            title="trial sheets: one answer of a difference or preference test a row",
            tables=("trial",),
            headings=read_headings,
            read=_read,
        )
    ]


def _read(file: SourceFile) -> Iterator[TextBatch]:
    return read_by_key(file, resolve_answers, filled=("answer", "correct", "chosen"))
