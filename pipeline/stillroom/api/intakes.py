"""What goes into the store, and what is taken out of force."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from stillroom.api.asking import Asking, silent

if TYPE_CHECKING:
    import polars as pl

    from stillroom.intake.deciding import Decided
    from stillroom.intake.outcome import Outcome, Progress
    from stillroom.store.in_force import LedgerLine
    from stillroom.verifying import Verdict


class Intakes(Asking):
    """Files taken in, what became of their rows, and what a person decides of them."""

    def intake(
        self,
        files: Sequence[str | Path] = (),
        *,
        source: str | None = None,
        progress: Progress = silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Take in these files, else all that the settings name; each file's outcome is told as it ends.

        Raises:
            StoreError: the store is held by another process, damaged, or of a newer version.
        """
        from stillroom.intake.run import run

        outcomes = []
        for outcome in run(self.settings, self.registry, [Path(file) for file in files], source, progress):
            tell(outcome)
            outcomes.append(outcome)
        return outcomes

    def undo(self, which: int | str) -> Decided:
        """Take an intake (its number, or the file's name) out of force; what it had superseded counts again."""
        from stillroom.intake.deciding import undo

        return undo(self.settings, self.registry, str(which))

    def redo(
        self,
        which: int | str,
        *,
        progress: Progress = silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Let a file count again that was undone (the intake's number, or the file's name); as `intake` besides."""
        from stillroom.intake.deciding import redo

        return redo(self.settings, self.registry, str(which), progress, tell)

    def gone(self, file: str) -> list[Decided]:
        """Confirm that a file which is missing is gone for good: its rows count no longer."""
        from stillroom.intake.deciding import gone

        return gone(self.settings, self.registry, file)

    def confirm(
        self,
        file: str,
        rows: Sequence[int] = (),
        *,
        progress: Progress = silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> tuple[tuple[int, ...], list[Outcome]]:
        """Confirm rows that are set aside for a doubtful day (all of the file, unless numbers are given); as `intake`.

        Returns:
            the numbers of the rows, and each file's outcome.
        """
        from stillroom.intake.deciding import confirm

        return confirm(self.settings, self.registry, file, rows, progress, tell)

    def put_right(
        self,
        file: str,
        days: Mapping[int, date],
        *,
        progress: Progress = silent,
        tell: Callable[[Outcome], None] = lambda outcome: None,
    ) -> list[Outcome]:
        """Correct the days (by the numbers of their rows) of rows set aside for a doubtful day; as `intake`."""
        from stillroom.intake.deciding import put_right

        return put_right(self.settings, self.registry, file, days, progress, tell)

    def ledger(self) -> list[LedgerLine]:
        """Every intake: which file, how many rows, and whether it still stands."""
        from stillroom.store import in_force

        with self._reading() as con:
            return in_force.lines(con, self.settings, self.registry.tables)

    def aside(self, intake_id: int | None = None) -> pl.DataFrame:
        """Rows set aside that wait to be corrected, with the reason; of one intake or of all."""
        from stillroom.store import waiting

        with self._reading() as con:
            return waiting.open_rows(con, self.settings, intake_id).drop("source", "table_name")

    def verify(self, progress: Progress = silent) -> Verdict:
        """Build the store once more beside the old one, and hold every figure against it; nothing is changed."""
        from stillroom.verifying import verify

        return verify(self.settings, self.registry, progress)
