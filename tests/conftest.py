import os
from collections.abc import Iterator

import pytest
from selenium import webdriver

from browser import missing, open_browser


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Tests, and the programs they start, leave the user's cache alone."""
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["XDG_CACHE_HOME"]
    else:
        os.environ["XDG_CACHE_HOME"] = before


@pytest.fixture(scope="session")
def browser() -> Iterator[webdriver.Chrome]:
    """One headless Chromium for the whole run; tests that ask for it are skipped where there is none."""
    reason = missing()
    if reason:
        pytest.skip(f"no browser to look at the page with ({reason})")
    with open_browser() as driver:
        yield driver
