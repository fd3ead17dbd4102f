"""Ballots as PDF: a page for each panelist and round."""

from __future__ import annotations

from stillroom.answers.panel_plan.ballots import ballot_values
from stillroom.answers.panel_plan.drawing import Session
from stillroom_reports.paper.typesetting import Printed, typeset


def print_ballots(session: Session, paper: str) -> Printed:
    """The ballots of a session.

    Args:
        paper: A4 or Letter.
    """
    values = ballot_values(session)
    return typeset("ballots", {**values, "title": f"Ballots: {session.request.session}"}, paper)
