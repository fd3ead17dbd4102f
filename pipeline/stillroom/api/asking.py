"""The store of a house, to be asked: what all questions share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from stillroom.house.house import House
    from stillroom.objects import Caution
    from stillroom.plugins.registry import Registry
    from stillroom.store.kept_answers import Worked


def silent(name: str, done: int, about: int) -> None:
    """No progress is shown."""


@dataclass(frozen=True)
class Asking:
    """A house whose store can be opened, and read as it is."""

    settings: House
    registry: Registry

    @property
    def plugin_faults(self) -> tuple[str, ...]:
        """Plugins that were left out, a sentence each."""
        return self.registry.faults

    @cached_property
    def _tables(self) -> list[Any]:
        return list(self.registry.tables.values())

    @cached_property
    def _opened(self) -> list[duckdb.DuckDBPyConnection]:
        return []

    @contextmanager
    def _reading(self) -> Iterator[duckdb.DuckDBPyConnection]:
        """The store; opened once where one question is asked inside another."""
        from stillroom.store import opening

        if self._opened:
            yield self._opened[0]
            return
        with opening.reading(self.settings, self._tables) as con:
            self._opened.append(con)
            try:
                yield con
            finally:
                self._opened.clear()

    def _frames(self, names: Iterable[str]) -> dict[str, pl.DataFrame]:
        """Views and tables whole, by name."""
        from stillroom.answers.reporting import view_frames

        with self._reading() as con:
            return view_frames(con, names)

    def _cautions(self) -> tuple[Caution, ...]:
        """All cautions there are, those of plugins and the host's own."""
        from stillroom.answers import not_whole

        with self._reading() as con:
            return tuple(not_whole.with_others(con, self.registry.cautions.values()))

    def kept(self, question: tuple[object, ...], work_out: Callable[[], Worked]) -> Mapping[str, str]:
        """An answer in words as it was worked out last, while all that it rests on is the same; else worked out anew.

        Args:
            question: all that was asked, and how the answer is to be written.
            work_out: asks this house, and puts the answer into words.
        """
        from stillroom.store import kept_answers

        with self._reading() as con:
            return kept_answers.kept_or_worked_out(con, self.settings, self.registry, question, work_out)

    def view(self, name: str) -> pl.DataFrame:
        """A view or table whole, in a fixed order: `daily_serves`, `batch_fate`, `current_spec` ..."""
        return self._frames([name])[name]

    def sql(self, query: str, *parameters: object) -> pl.DataFrame:
        """The rows of one query on the store, which it cannot change; `?` in it stand for the parameters.

        Raises:
            UsageError: the query is not one that can be answered.
        """
        import duckdb

        from stillroom.errors import UsageError, in_one_line
        from stillroom.store.frames import fetch

        with self._reading() as con:
            try:
                return fetch(con, query, parameters)
            except (duckdb.ProgrammingError, duckdb.DataError, duckdb.NotSupportedError) as error:
                raise UsageError(f"The query cannot be answered: {in_one_line(error)}") from None
