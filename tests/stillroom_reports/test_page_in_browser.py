"""The page as a headless Chromium shows it, from a file and without any network."""

from dataclasses import replace

import altair as alt
import polars as pl
import pytest
from selenium.webdriver import ActionChains

from browser import console, show
from sample_document import HOSTILE, bar_chart, hostile_document, one_report, sample_document
from stillroom.files import write_whole
from stillroom.objects import Column, ReportChart, ReportTable
from stillroom_reports import theme
from stillroom_reports.page import render_page


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "page.html"
    write_whole(path, render_page(sample_document()))
    return path


def _colour(driver, selector, name="color"):
    script = "return getComputedStyle(document.querySelector(arguments[0]))[arguments[1]]"
    red, green, blue = driver.execute_script(script, selector, name).removeprefix("rgb(").removesuffix(")").split(", ")
    return f"#{int(red):02x}{int(green):02x}{int(blue):02x}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 360])
def test_every_chart_is_drawn_within_its_place(browser, page, width, scheme):
    show(browser, page, width=width, scheme=scheme)
    print(f"complete after {browser.execute_script('return performance.now()'):.0f} ms")
    marks = browser.execute_script(
        "return Array.from(document.querySelectorAll('[data-chart]'),"
        " box => box.querySelectorAll('svg .role-mark path, svg .role-mark line').length)"
    )
    assert len(marks) == 6
    assert min(marks) > 0
    assert browser.execute_script("return document.querySelectorAll('.undrawn').length") == 0
    assert console(browser) == []
    assert browser.execute_script("return performance.getEntriesByType('resource').length") == 0
    assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
    spills = browser.execute_script(
        "return Array.from(document.querySelectorAll('.chart .scroll'), box => box.scrollWidth - box.clientWidth)"
    )
    assert max(spills) <= 0


@pytest.mark.parametrize(("scheme", "colours"), [("light", theme.LIGHT), ("dark", theme.DARK)])
def test_page_and_charts_follow_the_scheme_and_paper_is_light(browser, page, scheme, colours):
    show(browser, page, scheme=scheme)
    assert _colour(browser, "body", "backgroundColor") == colours["ground"]
    assert _colour(browser, "svg .role-axis-label text", "fill") == colours["soft"]
    assert _colour(browser, "svg .mark-line path", "stroke") in colours.values()
    paper = {"media": "print", "features": [{"name": "prefers-color-scheme", "value": scheme}]}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", paper)
    try:
        assert _colour(browser, "body", "backgroundColor") == theme.LIGHT["ground"]
        assert _colour(browser, "svg .role-axis-label text", "fill") == theme.LIGHT["soft"]
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_shades_change_with_the_scheme(browser, page):
    show(browser, page, scheme="light")
    fills = "return Array.from(document.querySelectorAll('.mark-rect path'), p => p.getAttribute('fill')).join()"
    light = browser.execute_script(fills)
    dark = {"features": [{"name": "prefers-color-scheme", "value": "dark"}]}
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", dark)
    _until(browser, f"return (() => {{ {fills} }})() !== arguments[0]", light)


def test_panels_are_drawn_again_when_the_window_changes(browser, page):
    show(browser, page, width=1280)
    size = {"width": 400, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    _until(
        browser,
        "return Array.from(document.querySelectorAll('.chart .scroll'))"
        ".every(box => box.scrollWidth <= box.clientWidth && box.querySelector('svg'))",
    )


def test_on_paper_nothing_is_folded_or_cut_off(browser, page):
    show(browser, page, width=1280)
    hidden = (
        "return Array.from(document.querySelectorAll('.rest tr, .more li'))"
        ".filter(element => !element.checkVisibility()).length"
    )
    folded = browser.execute_script(hidden)
    assert folded == 11 + 4 + 2  # rows of a table, findings to act on, findings of a report
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
    show(browser, page)
    shown = "return document.querySelector('.rest tr').getBoundingClientRect().height > 0"
    assert not browser.execute_script(shown)
    browser.execute_script("document.querySelector('.unfold summary').click()")
    assert browser.execute_script(shown)


def test_a_chart_that_the_browser_cannot_draw_leaves_the_others_alone(browser, tmp_path):
    frame = pl.DataFrame({"a": [1]})
    broken = alt.Chart(frame).transform_calculate(b="1 +").mark_bar().encode(x="b:Q")
    charts = (ReportChart(name="broken", title="Broken", chart=broken), bar_chart())
    path = tmp_path / "page.html"
    write_whole(path, render_page(one_report(charts=charts)))
    show(browser, path)
    boxes = "return Array.from(document.querySelectorAll('[data-chart]'), b => b.querySelector('svg') !== null)"
    assert browser.execute_script(boxes) == [False, True]
    assert "could not be drawn" in browser.execute_script("return document.querySelector('.undrawn').textContent")


def _drawn(browser, folder, chart, width):
    path = folder / "page.html"
    page = render_page(one_report(charts=(ReportChart(name="one", title="One", chart=chart),)))
    write_whole(path, page)
    show(browser, path, width=width)


@pytest.mark.parametrize("width", [1280, 390])
def test_of_names_on_each_other_one_is_left_out(browser, tmp_path, width):
    rows = pl.DataFrame({"x": [1, 1, 9], "y": [1, 1, 9], "name": ["Fig Sour", "Pear Fizz", "Kelp"]})
    chart = alt.Chart(rows).mark_text().encode(x="x:Q", y="y:Q", text="name:N")
    _drawn(browser, tmp_path, chart, width)
    seen = browser.execute_script(
        "return Array.from(document.querySelectorAll('.mark-text.role-mark text'))"
        ".filter(name => name.style.visibility !== 'hidden').map(name => name.textContent)"
    )
    assert seen == ["Fig Sour", "Kelp"]


def test_a_long_entry_of_a_legend_is_whole_where_there_is_room(browser, tmp_path):
    entry = "2026-09-15 a preparation of the house, first sitting"
    chart = (
        alt.Chart(pl.DataFrame({"x": [1, 2], "kind": [entry, "other"]})).mark_point().encode(x="x:Q", color="kind:N")
    )
    _drawn(browser, tmp_path, chart, 1280)
    texts = browser.execute_script(
        "return Array.from(document.querySelectorAll('.role-legend-label text'), text => text.textContent)"
    )
    assert texts == [entry, "other"]


def test_a_legend_counts_the_entries_that_no_row_has(browser, tmp_path):
    kinds = ["used", "poured away for a reason", "spoiled before its use-by"]
    base = alt.Chart(pl.DataFrame({"x": [1, 2], "kind": ["used", "used"]})).mark_point()
    _drawn(browser, tmp_path, base.encode(x="x:Q", color=alt.Color("kind:N").scale(domain=kinds)), 390)
    right = (
        "return Math.max(...Array.from("
        "document.querySelectorAll('.role-legend text'), text => text.getBoundingClientRect().right))"
    )
    assert browser.execute_script(right) <= 390


def test_a_page_without_charts_is_complete_too(browser, tmp_path):
    path = tmp_path / "page.html"
    write_whole(path, render_page(replace(one_report(), entries=())))
    show(browser, path)
    assert console(browser) == []


def test_hostile_names_do_no_harm(browser, tmp_path):
    path = tmp_path / "page.html"
    write_whole(path, render_page(hostile_document()))
    show(browser, path, width=360)
    bar = max(browser.find_elements("css selector", "svg .mark-rect path"), key=lambda bar: bar.rect["width"])
    ActionChains(browser).scroll_to_element(bar).move_to_element(bar).perform()
    tooltip = browser.find_element("css selector", "#vg-tooltip-element.visible")
    assert HOSTILE in tooltip.text
    assert browser.execute_script("return window.harmed") is None
    assert browser.execute_script("return document.querySelectorAll('img, iframe').length") == 0
    assert browser.execute_script("return document.querySelectorAll('script:not([type])').length") == 2
    assert browser.execute_script("return document.documentElement.scrollWidth <= innerWidth")
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


def _until(driver, script, *arguments):
    from selenium.webdriver.support.ui import WebDriverWait

    from browser import WAIT_SECONDS

    WebDriverWait(driver, WAIT_SECONDS, poll_frequency=0.05).until(lambda d: d.execute_script(script, *arguments))
