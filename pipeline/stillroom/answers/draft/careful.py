"""What a draft does to what one has to be careful of: cautions that come, and cautions that go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.facts import BatchHistory, spec_facts
from stillroom.answers.advice import Advice, advice_on
from stillroom.answers.draft.books import Book
from stillroom.objects import Caution


@dataclass(frozen=True, kw_only=True)
class Turned:
    """Cautions on a draft beside those on today's version."""

    come: tuple[Advice, ...]
    """New, or saying something else than before."""
    gone: tuple[Advice, ...]
    stay: tuple[Advice, ...]


class Careful:
    """Asks every caution about a version as it is, and as it would be.

    Args:
        history: what the batch book shows; of a draft it can show nothing, as no batch of it was made.
    """

    def __init__(self, cautions: Iterable[Caution], history: Mapping[tuple[str, int], BatchHistory]) -> None:
        self._cautions, self._history = tuple(cautions), history

    def turned(self, today: Book, spec: SpecVersion, after: Book, drafted: SpecVersion) -> Turned:
        """What is to be said of a version after the draft and was not before, and the other way round."""
        history = self._history
        if drafted.lines != spec.lines:
            history = {key: one for key, one in history.items() if key != drafted.key}
        before = advice_on(spec_facts(today.composition, spec, self._history), self._cautions)
        now = advice_on(spec_facts(after.composition, drafted, history), self._cautions)
        said, names = {(one.name, one.text) for one in before}, {one.name for one in now}
        return Turned(
            come=tuple(one for one in now if (one.name, one.text) not in said),
            gone=tuple(one for one in before if one.name not in names),
            stay=tuple(one for one in now if (one.name, one.text) in said),
        )
