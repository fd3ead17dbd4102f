"""The findings to act on, as plain text for a terminal."""

from __future__ import annotations

from stillroom.naming import harmless
from stillroom.objects import Finding
from stillroom.words import period_text, wrapped
from stillroom_reports.document import Document, by_rank, to_act_on


def render_text(document: Document, width: int = 80, *, whole: bool = False) -> str:
    """The period, the findings worth acting on with their evidence, and what could not be done.

    `whole`: the other findings too, which are too many when all reports speak.
    """
    about = f"{document.house.name}: {document.period.label} ({period_text(document.period)})"
    lines = [*_wrapped(about, width, first="", then=""), ""]
    acting = to_act_on(document)
    if acting:
        lines.append("Worth acting on")
        for number, (entry, finding) in enumerate(acting, 1):
            lines += _finding(number, finding, entry.report.title, width)
    else:
        lines.append("No report found anything to act on in this period.")
    others = [(entry, found) for entry in document.entries for found in by_rank(entry.result.findings) if not found.act]
    if whole and others:
        lines += ["", "Also found"]
        for number, (entry, finding) in enumerate(others, len(acting) + 1):
            lines += _finding(number, finding, entry.report.title, width)
    if document.faults:
        lines += ["", "Not done"]
        for fault in document.faults:
            lines += _wrapped(fault, width, first="  ! ", then="    ")
    return "\n".join(lines) + "\n"


def _finding(number: int, finding: Finding, title: str, width: int) -> list[str]:
    first = f"{number:>3} "
    then = " " * len(first)
    return [
        "",
        *_wrapped(finding.sentence, width, first=first, then=then),
        *_wrapped(finding.evidence, width, first=then, then=then),
        *_wrapped(f"[{finding.sureness}; {title}]", width, first=then, then=then),
    ]


def _wrapped(text: str, width: int, *, first: str, then: str) -> list[str]:
    return wrapped(harmless(text), first, then, max(width, 20))
