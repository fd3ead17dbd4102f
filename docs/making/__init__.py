"""The parts of the documentation that the code knows itself: `make docs` writes them, and a test holds them to it.

A page says where a part goes:

    <!-- made: NAME -->
    ...
    <!-- end -->

What stands between is made by the function of that name in `PARTS`; the rest of a page is written by hand.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from docs.making import commands, ingredients, licences, methods, objects, settings, tables, views

PAGES: Final = Path(__file__).parent.parent
PARTS: Final[dict[str, Callable[[], str]]] = {
    name: make
    for module in (settings, tables, views, commands, methods, objects, ingredients, licences)
    for name, make in module.PARTS.items()
}
"""Name -> what makes it, as Markdown."""
MARKED: Final = re.compile(r"(<!-- made: (.+?) -->\n).*?(<!-- end -->)", re.DOTALL)


def pages() -> Iterator[tuple[Path, str, str]]:
    """Every page: where it is, what it says, and what it should say."""
    for path in sorted(PAGES.rglob("*.md")):
        text = path.read_text(encoding="utf-8")
        yield path, text, MARKED.sub(lambda part: f"{part[1]}\n{PARTS[part[2]]().strip()}\n\n{part[3]}", text)
