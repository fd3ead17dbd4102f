"""What changed between versions, and scores of those who tasted both."""

import pytest

from spec_frames import kitchen
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.changes import line_changes, score_changes
from store_frames import frame

SCORES = "session panelist spec version attribute score scale_low scale_high"


def test_every_difference_is_a_row() -> None:
    book = kitchen()
    book.spec("syrup", "800 ml", "500 g sugar", "500 g water")
    book.spec("sour", "1 serve", "60 ml gin", "20 ml syrup", "1 dash egg white", method="shaken", price=11.0)
    book.spec("sour", "1 serve", "60 ml gin", "25 ml syrup", "2 g citric acid", version=3, method="shaken", price=12.0)
    rows = line_changes(SpecBook(book.frames)).rows()
    assert rows == [
        ("sour", 1, 3, "syrup", "20 ml (version 1)", "25 ml (version 1)"),
        ("sour", 1, 3, "citric acid", None, "2 g"),
        ("sour", 1, 3, "price", "11.00", "12.00"),
        ("sour", 1, 3, "egg white", "1 dash", None),
    ]


def test_one_version_has_no_changes() -> None:
    book = kitchen()
    book.spec("sour", "1 serve", "60 ml gin")
    assert line_changes(SpecBook(book.frames)).is_empty()


def test_only_tasters_of_both_in_one_session_are_compared() -> None:
    rows = [
        ("s1", "p1", "sour", 1, "liking", 4.0),
        ("s1", "p1", "sour", 2, "liking", 6.0),
        ("s1", "p2", "sour", 1, "liking", 5.0),
        ("s1", "p2", "sour", 2, "liking", 6.0),
        ("s1", "p3", "sour", 2, "liking", 9.0),  # missed version 1
        ("s2", "p3", "sour", 1, "liking", 1.0),  # in another session
    ]
    scores = frame("panel_scores", [(*row, 1.0, 9.0) for row in rows], SCORES)
    (found,) = score_changes(scores).to_dicts()
    assert (found["before"], found["after"]) == (pytest.approx(4.5), pytest.approx(6.0))
    assert (found["difference"], found["tasters"]) == (pytest.approx(1.5), 2)


def test_scores_on_two_scales_are_not_compared() -> None:
    rows = [("s1", "p1", "sour", 1, "liking", 4.0, 1.0, 9.0), ("s1", "p1", "sour", 2, "liking", 60.0, 0.0, 100.0)]
    assert score_changes(frame("panel_scores", rows, SCORES)).is_empty()
    assert score_changes(frame("panel_scores")).is_empty()
