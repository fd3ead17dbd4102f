"""How soon a browser shows something of the demo house's page, opened from the disk: the first contentful paint.

Run as `python -m benchmarks.first_paint`; the table is written to docs/benchmarks.md. The goal is half a second.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from pathlib import Path

import stillroom
from benchmarks.measuring import keep
from stillroom.api import demo_house
from stillroom.files import write_whole
from stillroom_reports.page import render_page

sys.path.append(str(Path(__file__).parent.parent / "tests"))
from browser import missing, open_browser, show

ROUNDS = 10
PAINT = "return performance.getEntriesByName('first-contentful-paint')[0].startTime"
SCREENS = {"a desk, 1280 × 800": (1280, 800), "a phone, 390 × 844": (390, 844)}


def write_page(folder: Path) -> Path:
    """The demo house's page."""
    demo_house(folder)
    house = stillroom.open(folder)
    house.intake()
    page = folder / "report.html"
    write_whole(page, render_page(house.document()))
    return page


def paints(page: Path, width: int, height: int) -> list[float]:
    """Milliseconds to the first contentful paint (W3C, Paint Timing), each time in a new browser."""
    found = []
    for _ in range(ROUNDS):
        with open_browser() as driver:
            show(driver, page, width=width, height=height)
            found.append(float(driver.execute_script(PAINT)))
    return found


def main() -> None:
    """Measure, print, and keep the table."""
    reason = missing()
    if reason:
        raise SystemExit(f"There is no browser to measure in ({reason}).")
    with tempfile.TemporaryDirectory() as name:
        page = write_page(Path(name) / "house")
        rows = []
        for screen, (width, height) in SCREENS.items():
            times = paints(page, width, height)
            rows.append(f"| {screen} | {statistics.median(times):.0f} | {max(times):.0f} |")
        size = page.stat().st_size / 1e6
    keep(
        "paint",
        [
            f"The demo house's page, {size:.1f} MB, opened {ROUNDS} times in a new browser.",
            "",
            "| screen | first paint, ms, median | longest |",
            "|---|---|---|",
            *rows,
        ],
    )


if __name__ == "__main__":
    main()
