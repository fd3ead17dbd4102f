"""The page against axe-core (npm, MPL-2.0): no violation of its rules, which follow WCAG 2.2, in any kind of part."""

import sys
from pathlib import Path

import pytest

from browser import show

AXE = Path(sys.prefix) / "axe-core" / "axe.min.js"
"""Where `make test` puts it."""
PARTS = ("#season", "#drinks", "#preparations", "#questions", "#report-season", "#report-panel", "#rests")
SHEETS = ("#drink-drink-1", "#preparation-pear-cordial")

# What is hidden is taken away first, for axe looks at all there is; every fold of the rest is opened.
PREPARED = """
const views = Array.from(document.querySelectorAll('.view'));
views.filter((view) => !view.checkVisibility()).forEach((view) => view.remove());
for (const fold of document.querySelectorAll('details')) fold.open = true;
"""
RUN = """
const done = arguments[arguments.length - 1];
axe.run(document, {resultTypes: ['violations']}).then((found) => done(
  found.violations.flatMap((rule) => rule.nodes.map((node) => `${rule.id}: ${node.html.slice(0, 120)}`))
));
"""


@pytest.mark.skipif(not AXE.is_file(), reason=f"axe-core is not at {AXE}: 'make test' fetches it where npm is")
@pytest.mark.parametrize(
    ("width", "scheme", "forced"),
    [(1280, "light", False), (1280, "dark", False), (640, "light", False), (390, "dark", False), (390, "light", True)],
    ids=["desk", "dark", "200 %", "phone", "forced colours"],
)
def test_no_part_breaks_a_rule(browser, page, width, scheme, forced):
    browser.set_script_timeout(300)
    for at in (*PARTS, *SHEETS):
        show(browser, page, width=width, scheme=scheme, at=at)
        if forced:
            features = [{"name": "forced-colors", "value": "active"}, {"name": "prefers-color-scheme", "value": scheme}]
            browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
        assert browser.find_element("id", at[1:]).is_displayed(), at
        browser.execute_script(PREPARED)
        browser.execute_cdp_cmd("Runtime.evaluate", {"expression": AXE.read_text(encoding="utf-8")})
        assert browser.execute_async_script(RUN) == [], (at, width, scheme)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


def test_the_keyboard_reaches_the_content_first_and_then_every_link(browser, page):
    from selenium.webdriver.common.keys import Keys

    show(browser, page)
    browser.find_element("tag name", "body").send_keys(Keys.TAB)
    focused = browser.switch_to.active_element
    assert focused.text == "Skip to the content"
    focused.send_keys(Keys.ENTER)
    assert browser.execute_script("return document.activeElement.id") == "main"
    assert browser.find_element("id", "season").is_displayed()


def test_the_search_box_finds_by_name_and_by_what_the_till_says(browser, page):
    from selenium.webdriver.common.keys import Keys

    show(browser, page)
    box = browser.find_element("id", "find")
    for written, sheet in (
        ("drink 1", "drink-drink-1"),
        ("PC-1", "preparation-pear-cordial"),
        ("dr1", "drink-drink-1"),
    ):
        box.send_keys(written, Keys.ENTER)
        assert browser.find_element("id", sheet).is_displayed(), written
    browser.back()
    assert browser.find_element("id", "preparation-pear-cordial").is_displayed()


def test_a_table_sorts_filters_and_says_so(browser, page):
    show(browser, page, at="#report-season")
    table = browser.find_element("css selector", "#report-season .scroll > table")
    first = "return arguments[0].tBodies[0].rows[0].cells[0].textContent"
    before = browser.execute_script(first, table)
    heading = table.find_elements("css selector", "thead button")[0]
    heading.click()
    assert heading.find_element("xpath", "..").get_attribute("aria-sort") == "ascending"
    heading.click()
    assert browser.execute_script(first, table) != before
    box = browser.find_element("css selector", "#report-season .tools input")
    box.send_keys("fennel")
    shown = "return Array.from(arguments[0].querySelectorAll('tbody tr')).filter(row => row.checkVisibility()).length"
    assert browser.execute_script(shown, table) == 1


def test_whole_without_scripts(browser, page):
    """Everything stands in the file: what scripts make is only what scripts are for."""
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show(browser, page, at="#drink-drink-1")
        assert browser.find_element("id", "drink-drink-1").is_displayed()
        assert not browser.find_element("id", "season").is_displayed()
        browser.find_element("link text", "Questions").click()
        assert browser.find_element("id", "questions").is_displayed()
        assert not browser.find_element("id", "find").is_displayed()
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
