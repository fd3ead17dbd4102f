"""Ballots as PDF: a page for each panelist, wherever that can still be read."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from paper import tags, texts
from stillroom.answers.panel_plan.drawing import METHODS, Attribute, Request, draw_up
from stillroom.answers.panel_plan.files import write_session
from stillroom.errors import UsageError
from stillroom_reports.paper.ballots import print_ballots

NAMES = ("liking", "sweetness", "sourness", "bitterness", "balance", "length of the finish", "body")
KINDS = {"liking": "liking", "body": "just-about-right"}


def request(samples: int = 3, attributes: int = 2, **changed: object) -> Request:
    drawn = Request(
        session="A tasting with a name of some length",
        tasted_on=date(2026, 11, 18),
        spec="Harbour Light",
        versions=tuple(range(4711, 4711 + samples)),
        panelists=("P01", "P02"),
        attributes=tuple(Attribute(name=name, kind=KINDS.get(name, "intensity")) for name in NAMES[:attributes]),
        seed=7,
    )
    return replace(drawn, **changed)  # type: ignore[arg-type]


@pytest.mark.parametrize(("samples", "attributes", "pages"), [(2, 2, 2), (3, 5, 2), (4, 5, 2), (3, 7, 2), (6, 7, 4)])
def test_a_ballot_stands_on_one_page_unless_too_small_to_read(samples: int, attributes: int, pages: int) -> None:
    assert len(texts(print_ballots(draw_up(request(samples, attributes)), "Letter").pdf)) == pages


def test_the_samples_stand_in_the_order_served_and_nothing_tells_a_version() -> None:
    drawn = draw_up(request(replicates=2))
    made = print_ballots(drawn, "A4")
    assert made.faults == ()
    pages = texts(made.pdf)
    for page, (_, glasses) in zip(pages, drawn.key.group_by("replicate", "panelist", maintain_order=True), strict=True):
        places = [page.index(f"Sample {code}") for code in glasses["code"]]
        assert places == sorted(places)
        assert f"Panelist {glasses['panelist'][0]}" in page
        assert f"round {glasses['replicate'][0]}" in page
        assert "Tell the lead before you taste" in page
        assert not any(str(version) in page for version in drawn.request.versions)
        assert "Harbour Light" not in page
    assert tags(made.pdf)["H2"] == 4 * (3 + 1)


@pytest.mark.parametrize("method", [one for one in METHODS if one != "scores"])
def test_every_kind_of_test_has_its_question_and_codes(method: str) -> None:
    drawn = draw_up(request(2, 1, method=method))
    page = texts(print_ballots(drawn, "A4").pdf)[0]
    assert "Rinse with water in between." in page
    assert all(code in page for code in drawn.key.filter(panelist="P01")["code"])


def test_a_session_is_written_with_ballots_of_either_kind(tmp_path: Path) -> None:
    written = write_session(draw_up(request()), tmp_path, ballot_kind="pdf", paper="Letter")
    assert written.ballots.name.endswith("-ballots.pdf")
    assert written.ballots.read_bytes().startswith(b"%PDF-")
    with pytest.raises(UsageError, match="--ballots must be html or pdf, not 'png'"):
        write_session(draw_up(request()), tmp_path / "b", ballot_kind="png")
