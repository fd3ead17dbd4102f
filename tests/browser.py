"""A headless Chromium for tests that look at a page as its reader does."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from shutil import which
from typing import Any

from selenium import webdriver


def missing() -> str | None:
    """Why there is no browser to test with; None where there is one."""
    lacking = [program for program in ("chromium", "chromedriver") if which(program) is None]
    return f"not installed: {', '.join(lacking)}" if lacking else None


@contextmanager
def open_browser() -> Iterator[webdriver.Chrome]:
    """A browser with a profile of its own that can resolve no host name and keeps its logs."""
    options = webdriver.ChromeOptions()
    options.binary_location = which("chromium") or ""
    with tempfile.TemporaryDirectory(prefix="chromium-", ignore_cleanup_errors=True) as profile:
        for argument in (
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--window-size=1280,900",
            "--host-resolver-rules=MAP * ~NOTFOUND",
            f"--user-data-dir={profile}",
        ):
            options.add_argument(argument)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        service = webdriver.ChromeService(which("chromedriver"))
        driver = webdriver.Chrome(options=options, service=service)
        try:
            yield driver
        finally:
            driver.quit()


def show(
    driver: webdriver.Chrome, path: Path, *, width: int = 1280, height: int = 900, scheme: str = "light", at: str = ""
) -> None:
    """Open a page of ours at a width and colour scheme, at a place of it (`#season`)."""
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    features = [{"name": "prefers-color-scheme", "value": scheme}]
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    driver.get("about:blank")  # so that the same page at another place is loaded anew
    driver.get(path.resolve().as_uri() + at)


def screenshot(driver: webdriver.Chrome, path: Path, *, whole: bool = True) -> Path:
    """Save what the browser shows as PNG: the whole page, or the first screen only."""
    import base64

    taken = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png", "captureBeyondViewport": whole})
    path.write_bytes(base64.b64decode(taken["data"]))
    return path


def console(driver: webdriver.Chrome) -> list[dict[str, Any]]:
    """What went wrong on the page since the last call: script errors, and all that its policy refused."""
    return [line for line in driver.get_log("browser") if line["level"] == "SEVERE"]
