"""Ballots printed by a browser: a page for each panelist wherever that can still be read."""

from __future__ import annotations

import base64
import re
from datetime import date
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.print_page_options import PrintOptions

from stillroom.answers.panel_plan.ballots import render_ballots
from stillroom.answers.panel_plan.drawing import Attribute, Request, draw_up

ATTRIBUTES = ("liking", "sweetness", "sourness", "bitterness", "balance", "length of the finish", "body")


def printed_pages(browser: webdriver.Chrome, path: Path, samples: int, attributes: int) -> int:
    """Pages of US letter, the shorter paper, that the ballots of two panelists take."""
    request = Request(
        session="A tasting with a name of some length",
        tasted_on=date(2026, 11, 18),
        spec="Harbour Light",
        versions=tuple(range(1, samples + 1)),
        panelists=("P01", "P02"),
        attributes=tuple(
            Attribute(
                name=name, kind="liking" if name == "liking" else "just-about-right" if name == "body" else "intensity"
            )
            for name in ATTRIBUTES[:attributes]
        ),
        seed=7,
    )
    path.write_text(render_ballots(draw_up(request)), encoding="utf-8")
    browser.get(path.as_uri())
    options = PrintOptions()
    options.page_width, options.page_height = 21.59, 27.94  # cm
    options.margin_top = options.margin_bottom = options.margin_left = options.margin_right = 1.1
    return len(re.findall(rb"/Type\s*/Page\b", base64.b64decode(browser.print_page(options))))


@pytest.mark.parametrize(("samples", "attributes"), [(2, 2), (3, 5), (4, 5), (3, 7)])
def test_a_ballot_stands_on_one_page(browser: webdriver.Chrome, tmp_path: Path, samples: int, attributes: int) -> None:
    assert printed_pages(browser, tmp_path / "ballots.html", samples, attributes) == 2


def test_what_would_be_too_small_to_read_runs_on(browser: webdriver.Chrome, tmp_path: Path) -> None:
    assert printed_pages(browser, tmp_path / "ballots.html", 6, 7) == 4
