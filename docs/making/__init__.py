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

from stillroom.group.settings import BookTable, GroupTable, HousesTable
from stillroom.house.model import HouseTable, Season, SourceSettings
from stillroom.house.report_settings import MenuSettings

PAGES: Final = Path(__file__).parent.parent
PARTS: Final[dict[str, Callable[[], str]]] = {
    "commands": commands.commands,
    "facts": lambda: views.views("facts"),
    "ingredients": ingredients.ingredients,
    "licences": licences.licences,
    "methods": methods.methods,
    "objects of plugins": objects.all_objects,
    "plugins of sources": settings.plugins,
    "settings of a group": lambda: settings.settings_table(GroupTable),
    "settings of a group's houses": lambda: settings.settings_table(HousesTable),
    "settings of a season": lambda: settings.settings_table(Season),
    "settings of a shared book": lambda: settings.settings_table(BookTable),
    "settings of a source": lambda: settings.settings_table(SourceSettings),
    "settings of reports": settings.reports,
    "settings of the house": lambda: settings.settings_table(HouseTable),
    "settings of the menu": lambda: settings.settings_table(MenuSettings),
    "staging": lambda: views.views("staging"),
    "tables": tables.tables,
    "tables of facts": settings.facts,
}
"""Name -> what makes it, as Markdown."""
MARKED: Final = re.compile(r"(<!-- made: (.+?) -->\n).*?(<!-- end -->)", re.DOTALL)


def pages() -> Iterator[tuple[Path, str, str]]:
    """Every page: where it is, what it says, and what it should say."""
    for path in sorted(PAGES.rglob("*.md")):
        text = path.read_text(encoding="utf-8")
        yield path, text, MARKED.sub(lambda part: f"{part[1]}\n{PARTS[part[2]]().strip()}\n\n{part[3]}", text)
