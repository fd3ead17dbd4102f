"""The three lists: what to do today, what to decide this week, what to mend in the data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.objects import Item, Today, ToMake, ToPour
from stillroom.names import name_key
from stillroom.objects import Finding, Report, ReportResult

if TYPE_CHECKING:
    from stillroom.answers.doubts.books import Doubt
    from stillroom.answers.prep_list import PrepList

CERTAIN: Final = {"sure": 0, "likely": 1, "cannot tell": 2}

Said = tuple[str, Finding]
"""Name of a report, and what it says."""


def to_decide(results: Iterable[tuple[Report, ReportResult]]) -> tuple[Item, ...]:
    """What to decide: one entry a subject, joined from all reports.

    What is known goes before what cannot be told, and the largest sum first. Sums of one subject are not added up: they
    are about the same serves.
    """
    said = [(report, finding) for report, finding in _findings(results) if finding.act and not finding.mend]
    return _ranked(_joined(said))


def to_mend(doubts: Iterable[Doubt], results: Iterable[tuple[Report, ReportResult]]) -> tuple[Item, ...]:
    """What to mend in the data: all that is in doubt, and what reports of plugins find; the most money first."""
    found = [
        Item(
            subject=doubt.subject,
            do=doubt.do,
            money=doubt.money,
            share=doubt.share,
            sureness="sure",
            why=doubt.what,
            mend=doubt.mend,
        )
        for doubt in doubts
    ]
    return _ranked([*found, *_joined([said for said in _findings(results) if said[1].mend])])


def _findings(results: Iterable[tuple[Report, ReportResult]]) -> list[Said]:
    return [(report.name, finding) for report, result in results for finding in result.findings]


def _joined(said: Iterable[Said]) -> list[Item]:
    """Findings about one subject become one entry; those about none stand alone."""
    groups: dict[object, list[Said]] = {}
    for place, (report, finding) in enumerate(said):
        key: object = name_key(finding.subject) or place
        groups.setdefault(key, []).append((report, finding))
    return [_one(group) for group in groups.values()]


def _one(group: list[Said]) -> Item:
    ranked = sorted(group, key=lambda one: (CERTAIN[one[1].sureness] > 1, -(one[1].money or 0.0), not one[1].do))
    chief = ranked[0][1]
    told = next((finding for _, finding in ranked if finding.do), chief)
    return Item(
        subject=chief.subject,
        do=told.do,
        money=max((finding.money for _, finding in ranked if finding.money is not None), default=None),
        sureness=chief.sureness,
        why=_why(ranked, told),
        mend=next((finding.mend for _, finding in ranked if finding.mend), ""),
        reports=tuple(dict.fromkeys(report for report, _ in ranked)),
    )


def _why(ranked: list[Said], told: Finding) -> str:
    """The reason of what is to be done, and the shortest of what the others add."""
    first = told.why or _without_subject(told)
    others = [finding for _, finding in ranked if finding is not told and finding.do != told.do]
    more = {finding.why or _without_subject(finding) for finding in others} - {first}
    return " ".join([first, *sorted(more, key=lambda text: (len(text), text))[:1]])


def _without_subject(finding: Finding) -> str:
    text = finding.sentence
    for opening in (f"{finding.subject}: ", f"{finding.subject}, ", f"{finding.subject} "):
        if finding.subject and text.startswith(opening):
            text = text.removeprefix(opening)
            return f"{text[:1].upper()}{text[1:]}"
    return text


def _ranked(items: Iterable[Item]) -> tuple[Item, ...]:
    return tuple(
        sorted(items, key=lambda i: (i.sureness == "cannot tell", -(i.money or 0.0), CERTAIN[i.sureness], i.subject))
    )


def today(prep: PrepList | None) -> Today | None:
    """The prep list in short: pour away first, then make."""
    if prep is None:
        return None
    several = len({line.venue for line in prep.lines}) > 1
    return Today(
        day=prep.day,
        pour=tuple(
            ToPour(preparation=line.preparation, batch=batch, amount=amount, unit=line.unit, use_by=use_by)
            for line in prep.lines
            for batch, amount, use_by in line.past_use_by
        ),
        make=tuple(
            ToMake(
                preparation=line.preparation,
                amount=line.make,
                unit=line.unit,
                venue=line.venue if several else "",
            )
            for line in prep.to_make
        ),
    )


def deciding(shown: Iterable[Item], words: Mapping[str, str]) -> dict[str, str]:
    """Drink -> a few words, of the entries that are shown and certain enough to be marked in the picture.

    Args:
        words: drink -> what there is to say of it in few words.
    """
    return {i.subject: words[i.subject] for i in shown if i.sureness != "cannot tell" and i.subject in words}
