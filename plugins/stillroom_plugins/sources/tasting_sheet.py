"""What a panel scored."""

from __future__ import annotations

from collections.abc import Iterator

from stillroom import hookimpl
from stillroom.answers.panel_plan.resolving import resolve_codes
from stillroom.objects import Source, SourceFile, TextBatch
from stillroom.reading import read_headings
from stillroom_plugins.sources._by_key import read_by_key


@hookimpl
def register_sources() -> list[Source]:
    """The tasting sheet."""
    return [
        Source(
            name="tasting-sheet",
            title="tasting sheets: one score a row",
            tables=("tasting",),
            headings=read_headings,
            read=_read,
        )
    ]


def _read(file: SourceFile) -> Iterator[TextBatch]:
    return read_by_key(file, resolve_codes, filled=("score",))
