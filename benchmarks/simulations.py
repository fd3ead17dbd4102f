"""The page that keeps what simulations showed: one section each, made anew by its program."""

from __future__ import annotations

from pathlib import Path

PAGE = Path(__file__).parent.parent / "docs" / "simulations.md"


def keep(section: str, lines: list[str]) -> None:
    """Print what was found, and put it in its place on the page."""
    begin, end = f"<!-- {section}: begin -->", f"<!-- {section}: end -->"
    text = "\n".join([begin, "", *lines, "", end])
    print(text)
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(begin)
    PAGE.write_text(before + text + rest.partition(end)[2], encoding="utf-8")
