"""Report: another menu beside today's, for the page: what it sells, leaves over, pours away and asks of work."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The what-if report."""
    return [
        Report(
            name="what-if",
            title="What if",
            question="What happens to sales, money, waste and work if this goes and that comes?",
            needs=(),
            build="stillroom_plugins.reports.what_if.report:build",
            on="what-if",
            place=90,
        )
    ]
