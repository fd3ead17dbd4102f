"""The main job from end to end, as a new user runs it: the demo house, its files, its page in a real browser."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from selenium import webdriver

from browser import console, show
from stillroom.demo import truths
from stillroom.words import day_text


@pytest.fixture(scope="module")
def page(demo_house: Path) -> Path:
    return demo_house / "report.html"


@pytest.fixture(scope="module")
def words(page: Path) -> str:
    """What the page says, without its markup, scripts and chart data."""
    text = re.sub(r"<(script|style)\b.*?</\1>", " ", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", text).replace("&#39;", "'").split())


def test_every_part_opens_with_no_network_and_no_console_error(page: Path, browser: webdriver.Chrome) -> None:
    console(browser)
    show(browser, page)
    views = browser.execute_script("return Array.from(document.querySelectorAll('.view'), view => '#' + view.id)")
    assert len(views) >= 12 + 32
    assert browser.execute_script("return document.querySelectorAll('svg.marks').length") >= 16
    assert browser.execute_script("return document.querySelectorAll('.undrawn').length") == 0
    for at in views:
        browser.execute_script("location.hash = arguments[0]", at)
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth"), at
        assert not re.search(r"\b(NaN|nan|Infinity|null|undefined)\b", browser.find_element("id", at[1:]).text), at
    assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0
    assert console(browser) == []


def test_no_part_is_taller_than_six_screens_or_has_a_table_to_scroll_sideways(
    page: Path, browser: webdriver.Chrome
) -> None:
    show(browser, page, width=1280, height=800)
    views = browser.execute_script("return Array.from(document.querySelectorAll('.view'), view => '#' + view.id)")
    wider = (
        "return Array.from(document.querySelectorAll('.scroll'))"
        ".filter(box => box.checkVisibility() && box.scrollWidth > box.clientWidth + 1)"
        ".map(box => box.getAttribute('aria-label'))"
    )
    for at in views:
        browser.execute_script("location.hash = arguments[0]", at)
        assert browser.execute_script("return document.documentElement.scrollHeight") < 6 * 800, at
        assert browser.execute_script(wider) == [], at


def test_the_first_screen_fits_a_desk_and_two_fit_a_phone(page: Path, browser: webdriver.Chrome) -> None:
    show(browser, page, width=1280, height=800)
    assert browser.execute_script("return document.documentElement.scrollHeight") <= 1.03 * 800
    show(browser, page, width=390, height=844)
    assert browser.execute_script("return document.documentElement.scrollHeight") <= 2 * 844


def test_the_page_fits_a_phone(page: Path, browser: webdriver.Chrome) -> None:
    show(browser, page, width=360)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= 360


def test_the_page_is_under_four_megabytes(page: Path) -> None:
    assert page.stat().st_size < 4_000_000


def test_the_preparation_that_is_always_made_too_big_is_named(words: str) -> None:
    assert re.search(rf"{truths.ALWAYS_TOO_BIG}: 4\d % of what is made is poured away", words)


def test_the_batch_that_will_not_be_used_is_named(words: str) -> None:
    assert re.search(
        rf"{truths.WILL_NOT_BE_USED}, batch \S+: about [\d\s]+ ml of the [\d\s]+ ml on hand will not be used", words
    )


def test_the_better_version_is_found_and_the_others_are_not(words: str) -> None:
    spec, old, new = truths.BETTER
    assert re.search(rf"{spec}[^.]*version {new}[^.]*better[^.]*version {old}", words)
    spec, old, new = truths.NOT_BETTER
    assert not re.search(rf"{spec}: version {new} is better", words)
    assert re.search(rf"{spec}[^.]*cannot tell", words) or re.search(rf"{spec}[^.]*version {new}[^.]*worse", words)


def test_the_change_that_moved_sales_is_told_from_the_one_that_did_not(words: str) -> None:
    drink, day, _ = truths.LIFT
    assert re.search(rf"{drink}, version \d \(in service since {day_text(day)}\): sells \d+ % more than version", words)
    spec, _, new = truths.NOT_BETTER
    assert re.search(rf"{spec}, version {new} [^:]*: cannot tell whether it sells more", words)


def test_the_drink_that_falls_and_the_missing_price_are_named(words: str) -> None:
    assert f"{truths.FALLING[0]} is falling " in words
    assert f"no price for {truths.NO_PRICE[0]}" in words


def test_names_without_a_match_are_on_the_page(words: str) -> None:
    for name in truths.UNMATCHED:
        assert name in words
