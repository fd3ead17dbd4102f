"""Writes down what a review meeting decided, held against the spec book."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, cast, get_args

from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.request import chosen_version
from stillroom.analysis.specs.views import VIEWS
from stillroom.answers.reporting import view_frames
from stillroom.errors import UsageError
from stillroom.house import verdicts
from stillroom.objects import Decision, MenuVerdict

if TYPE_CHECKING:
    import duckdb


def take(con: duckdb.DuckDBPyConnection, folder: Path, name: str, decision: str, *, by: str, why: str) -> MenuVerdict:
    """Add a verdict of today to the house's file.

    Raises:
        UsageError: there is no such thing, the decision is none, or nobody or nothing is named.
    """
    if decision not in get_args(Decision):
        raise UsageError(f"The decision must be {', '.join(get_args(Decision))}, not '{decision}'.")
    if not by.strip() or not why.strip():
        raise UsageError("Say who decided and why: --by WHO --why TEXT.")
    spec = chosen_version(SpecBook(view_frames(con, VIEWS)), name, None)
    taken = MenuVerdict(
        subject=spec.spec,
        decision=cast("Decision", decision),
        day=datetime.now(UTC).date(),
        by=" ".join(by.split()),
        why=" ".join(why.split()),
    )
    verdicts.take(folder, taken)
    return taken
