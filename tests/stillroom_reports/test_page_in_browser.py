"""The page as a headless Chromium shows it, from a file and without any network."""

from dataclasses import replace

import polars as pl
import pytest

from browser import console, show
from sample_document import HOSTILE, hostile_document, one_report, sample_document
from sample_review import sample_review
from stillroom.files import write_whole
from stillroom.objects import Column, ReportTable
from stillroom_reports import theme
from stillroom_reports.page import render_page


def _colour(driver, selector, name="color"):
    script = "return getComputedStyle(document.querySelector(arguments[0]))[arguments[1]]"
    red, green, blue = driver.execute_script(script, selector, name).removeprefix("rgb(").removesuffix(")").split(", ")
    return f"#{int(red):02x}{int(green):02x}{int(blue):02x}"


VIEWS = (
    "#season",
    "#questions",
    "#report-season",
    "#report-expiry",
    "#report-panel",
    "#rests",
    "#drinks",
    "#preparations",
)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_each_part_is_shown_alone_and_within_the_window(browser, page, width, scheme):
    for at in VIEWS:
        show(browser, page, width=width, scheme=scheme, at=at)
        views = "return Array.from(document.querySelectorAll('.view'))"
        assert browser.execute_script(f"{views}.filter(v => v.checkVisibility()).map(v => '#' + v.id)") == [at]
        assert console(browser) == []
        assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")


def test_the_first_screen_is_there_without_an_address_and_a_place_within_a_part_shows_that_part(browser, page):
    show(browser, page)
    assert browser.find_element("id", "season").is_displayed()
    show(browser, page, at="#report-expiry-table-1")
    assert browser.find_element("id", "report-expiry").is_displayed()
    assert not browser.find_element("id", "season").is_displayed()


def test_sixty_drinks_of_long_names_fit_a_desk_and_two_screens_of_a_phone(browser, tmp_path):
    path = tmp_path / "page.html"
    review = sample_review(60, name="A drink whose name has forty letters {:03}")
    write_whole(path, render_page(replace(sample_document(), review=review)))
    high = "return document.documentElement.scrollHeight"
    show(browser, path, width=1280, height=800)
    assert browser.execute_script(high) <= 800
    assert not browser.find_element("css selector", ".every").is_displayed()
    show(browser, path, width=390, height=844)
    assert browser.execute_script(high) <= 2 * 844
    rows = (
        "return Array.from(document.querySelectorAll('.picture > .dots tbody tr'))"
        ".filter(row => row.checkVisibility()).length"
    )
    folded = browser.execute_script(rows)
    browser.find_element("css selector", ".every summary").click()
    assert (folded, browser.execute_script(rows)) == (8, 14)
    assert browser.find_element("css selector", ".picture .more").is_displayed()


def test_the_browsers_own_way_back_works(browser, page):
    show(browser, page)
    browser.find_element("link text", "Questions").click()
    assert browser.find_element("id", "questions").is_displayed()
    assert browser.find_element("css selector", "[aria-current]").text == "Questions"
    browser.back()
    assert browser.find_element("id", "season").is_displayed()
    assert browser.find_element("css selector", "[aria-current]").text == "The season"


@pytest.mark.parametrize(("scheme", "colours"), [("light", theme.LIGHT), ("dark", theme.DARK)])
def test_page_and_charts_follow_the_scheme_and_paper_is_light(browser, page, scheme, colours):
    show(browser, page, scheme=scheme, at="#report-expiry")
    assert _colour(browser, "body", "backgroundColor") == colours["ground"]
    assert _colour(browser, "svg.marks text", "fill") == colours["soft"]
    paper = {"media": "print", "features": [{"name": "prefers-color-scheme", "value": scheme}]}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", paper)
    try:
        assert _colour(browser, "body", "backgroundColor") == theme.LIGHT["ground"]
        assert _colour(browser, "svg.marks text", "fill") == theme.LIGHT["soft"]
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


@pytest.mark.parametrize(("width", "drawing"), [(1280, "wide"), (390, "narrow")])
def test_a_chart_has_a_drawing_for_the_width(browser, page, width, drawing):
    show(browser, page, width=width, at="#report-season")
    seen = (
        "return Array.from(document.querySelectorAll('#report-season .drawing:not(.scroll)'))"
        ".filter(d => d.checkVisibility()).map(d => d.classList[1])"
    )
    assert set(browser.execute_script(seen)) == {drawing}


def test_on_paper_nothing_is_folded_or_cut_off(browser, page):
    show(browser, page, width=1280, at="#report-season")
    hidden = (
        "return Array.from(document.querySelectorAll('#report-season :is(.rest tr, .more li)'))"
        ".filter(element => !element.checkVisibility()).length"
    )
    folded = browser.execute_script(hidden)
    assert folded == 11 + 2  # rows of a table, findings
    paper = {"width": 680, "height": 990, "deviceScaleFactor": 1, "mobile": False}  # A4 and Letter less their margins
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", paper)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        browser.execute_script("dispatchEvent(new Event('beforeprint'))")
        assert browser.execute_script(hidden) == 0
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        browser.execute_script("dispatchEvent(new Event('afterprint'))")
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert browser.execute_script(hidden) == folded


def test_a_table_of_many_columns_fits_a_sheet(browser, tmp_path):
    words = {"Drink": ["Netmender's Knot"], "What it does": ["sells well, earns little"], "Trend": ["no clear trend"]}
    numbers = {f"Share of serves, {number}": [367.25 + number] for number in range(15)}
    frame = pl.DataFrame(words | numbers)
    columns = {name: Column(label=name, decimals=2) for name in frame.columns}
    path = tmp_path / "page.html"
    table = ReportTable(name="wide", title="Wide", frame=frame, columns=columns)
    write_whole(path, render_page(one_report(tables=(table,))))
    show(browser, path, width=680)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        assert browser.execute_script("return document.querySelector('table').getBoundingClientRect().right <= 680")
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_a_long_table_unfolds_in_place(browser, page):
    show(browser, page, at="#report-season")
    shown = "return document.querySelector('.rest tr').getBoundingClientRect().height > 0"
    assert not browser.execute_script(shown)
    browser.execute_script("document.querySelector('.unfold summary').click()")
    assert browser.execute_script(shown)


def test_a_page_without_charts_is_complete_too(browser, tmp_path):
    path = tmp_path / "page.html"
    write_whole(path, render_page(replace(one_report(), entries=())))
    show(browser, path)
    assert console(browser) == []


def test_hostile_names_do_no_harm(browser, tmp_path):
    path = tmp_path / "page.html"
    write_whole(path, render_page(hostile_document()))
    for at in (
        "",
        "#questions",
        "#report-script-script-window-harmed-1-script-img-src-x-onerror-window-harmed-1-amp-7-7-1-1",
    ):
        show(browser, path, width=360, at=at)
        assert browser.execute_script("return window.harmed") is None
        assert browser.execute_script("return document.querySelectorAll('img, iframe').length") == 0
        assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
        assert HOSTILE in browser.find_element("tag name", "main").text
        assert console(browser) == []


@pytest.mark.parametrize(
    ("attempt", "directive"),
    [
        ("const s = document.createElement('script'); s.textContent = 'window.harmed=1'; document.body.append(s)",
         "script-src-elem"),
        ("document.body.setAttribute('onclick', 'window.harmed=1'); document.body.click()", "script-src-attr"),
        ("new Image().src = 'http://example.invalid/x'", "img-src"),
        ("fetch('http://example.invalid/x').catch(() => 0)", "connect-src"),
        ("document.head.append(Object.assign(document.createElement('style'), {textContent: 'p{color:red}'}))",
         "style-src-elem"),
    ],
)  # fmt: skip
def test_the_browser_refuses_what_the_policy_forbids(browser, page, attempt, directive):
    show(browser, page)
    refused = browser.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "document.addEventListener('securitypolicyviolation', event => done(event.effectiveDirective), {once: true});"
        f"{attempt};"
    )
    assert refused == directive
    assert browser.execute_script("return window.harmed") is None
    console(browser)
