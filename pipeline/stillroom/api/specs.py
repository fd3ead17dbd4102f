"""Specs, their next versions, and batches of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from stillroom.api.asking import Asking

if TYPE_CHECKING:
    from stillroom.analysis.bench.edits import Edit
    from stillroom.analysis.bench.solving import Prefer
    from stillroom.answers.draft.batch import Correction
    from stillroom.answers.draft.build import Draft
    from stillroom.answers.draft.to_book import Written
    from stillroom.answers.draft.what_next import WhatNext
    from stillroom.answers.spec_answer import Spec


class Specs(Asking):
    """What is asked of a spec, and what may come after it."""

    def spec(self, name: str, version: int | None = None) -> Spec:
        """A spec in one version, else in the one in service: its sheet at any size, and what to be careful of.

        Raises:
            UsageError: there is no such spec or version.
        """
        from stillroom.answers import spec_answer

        with self._reading():
            frames, cautions = self._frames(spec_answer.NEEDS), self._cautions()
        return spec_answer.spec_answer(frames, cautions, self.settings.facts, name, version)

    def draft(
        self,
        name: str,
        *,
        version: int | None = None,
        edits: Sequence[Edit] = (),
        aims: Sequence[str] = (),
        free: Sequence[str] = (),
        prefer: Prefer = "near",
    ) -> Draft:
        """A spec with its lines changed or solved for, beside the version in service, with the drinks that use it.

        Raises:
            UsageError: a change or an aim names what is not there, or cannot be read.
        """
        from stillroom.answers.draft.build import draft

        with self._reading() as con:
            return draft(
                con, name, cautions=self._cautions(), version=version, edits=edits, aims=aims, free=free, prefer=prefer
            )

    def what_next(self, name: str, how_many: int = 3, *, step: float = 0.2, free: Sequence[str] = ()) -> WhatNext:
        """Two to four versions of a spec to taste next, from all panels so far.

        `step`: share of an amount by which it may move. `free`: items that may change; those in which the tasted
        versions differ when empty.

        Raises:
            UsageError: something named is not there, or nothing says what may change.
        """
        from stillroom.answers.draft.what_next import what_next

        with self._reading() as con:
            return what_next(con, name, how_many, step, free)

    def correct_batch(
        self, name: str, batch: str, *, aims: Sequence[str] = (), items: Sequence[str] = ()
    ) -> Correction:
        """What to add to a batch, as it was measured, to bring it to its °Brix.

        Raises:
            UsageError: there is no such batch, it was not measured, or its target is not known.
        """
        from stillroom.answers.draft.batch import correction

        with self._reading() as con:
            return correction(con, name, batch, aims, items)

    def write_draft(self, draft: Draft) -> Written:
        """Add a draft to the house's spec book as the next version, not in service; the next intake takes it in.

        Raises:
            UsageError: it holds what nobody lists, or would be in service at once.
            FileRefused: a file of the book has changed since, or cannot be written. Nothing is written.
        """
        from stillroom.answers.draft.to_book import write

        with self._reading() as con:
            return write(con, self.settings, self.registry, draft)
