from collections.abc import Iterator

import pytest
from selenium import webdriver

from browser import missing, open_browser


@pytest.fixture(scope="session")
def browser() -> Iterator[webdriver.Chrome]:
    """One headless Chromium for the whole run; tests that ask for it are skipped where there is none."""
    reason = missing()
    if reason:
        pytest.skip(f"no browser to look at the page with ({reason})")
    with open_browser() as driver:
        yield driver
