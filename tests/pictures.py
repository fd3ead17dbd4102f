"""Takes the pictures of the README anew: `python tests/pictures.py PAGE`, a review page of the demo house."""

import sys
from pathlib import Path

from browser import open_browser, screenshot, show

DOCS = Path(__file__).parent.parent / "docs"
PICTURES = {
    "review-page.png": (1280, 800, ""),
    "review-sheet.png": (1280, 900, "#preparation-clarified-apple-and-celery"),
    "review-phone.png": (390, 844, ""),
}


def main(page: Path) -> None:
    with open_browser() as driver:
        for name, (width, height, at) in PICTURES.items():
            show(driver, page, width=width, height=height, at=at)
            screenshot(driver, DOCS / name, whole=False)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
