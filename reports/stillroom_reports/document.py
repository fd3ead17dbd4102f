"""What is put on a page or in an export: the reports' results, and what they rest on."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import zip_longest

from stillroom.answers.house_sheet import Member
from stillroom.answers.review.objects import Review
from stillroom.objects import Finding, HouseFacts, Period, Report, ReportResult


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One report and what it found."""

    report: Report
    result: ReportResult


@dataclass(frozen=True, kw_only=True)
class Document:
    """Everything that goes on one page, in order."""

    house: HouseFacts
    period: Period
    entries: tuple[Entry, ...]
    facts: tuple[tuple[str, object], ...] = ()
    """What the figures rest on: a label and its value."""
    faults: tuple[str, ...] = ()
    """What could not be done, a sentence each."""
    review: Review | None = None
    """The period at a glance; None where only some reports were asked for."""
    members: tuple[Member, ...] = ()
    """The houses of a group, one sheet each; none where it is about one house, or only some reports were asked for."""


def to_act_on(document: Document) -> list[tuple[Entry, Finding]]:
    """Findings worth acting on: the heaviest of each report, then the second heaviest of each, and so on.

    Weights compare within a report only, so reports take turns in the order of the document. What is said again of a
    subject that has been spoken of comes after everything new.
    """
    ranked = [
        [(entry, finding) for finding in sorted(entry.result.findings, key=lambda f: -f.weight) if finding.act]
        for entry in document.entries
    ]
    in_turn = [pair for turn in zip_longest(*ranked) for pair in turn if pair is not None]
    subjects = [finding.subject for _, finding in in_turn]
    repeated = [bool(subject) and subject in subjects[:place] for place, subject in enumerate(subjects)]
    marked = list(zip(in_turn, repeated, strict=True))
    return [pair for pair, again in marked if not again] + [pair for pair, again in marked if again]


def by_rank(findings: Iterable[Finding]) -> list[Finding]:
    """A report's findings: those to act on first, heaviest first; the rest in the order they came."""
    return sorted(findings, key=lambda f: (not f.act, -f.weight if f.act else 0.0))


def safe_name(name: str) -> str:
    """A name that is harmless as a file name and as an HTML id: letters, digits and hyphens.

    >>> safe_name("../weekly <figures>")
    'weekly-figures'
    """
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-") or "unnamed"
