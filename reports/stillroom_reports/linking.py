"""Every name of a thing leads to its sheet: names found in a text become links."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from stillroom.names import name_key
from stillroom.words import unbroken

if TYPE_CHECKING:
    from markupsafe import Markup


class Links:
    """Links to the sheets of things, by name.

    Args:
        addresses: name of a thing -> HTML id of its sheet.
    """

    def __init__(self, addresses: Mapping[str, str]) -> None:
        self._addresses = {name_key(name): address for name, address in addresses.items()}
        names = sorted((re.escape(name) for name in addresses), key=len, reverse=True)
        self._cells: dict[str, Markup] = {}
        """Those that were asked for: most cells of a page say what another says."""
        self._names = re.compile(rf"(?<!\w)(?:{'|'.join(names)})(?!\w)") if names else None

    def to(self, name: str) -> str:
        """The id of a thing's sheet; '' where it has none."""
        return self._addresses.get(name_key(name), "")

    def cell(self, text: str) -> Markup:
        """A table's cell: a link where it is a name and nothing else."""
        from markupsafe import Markup, escape

        if text not in self._cells:
            address = self.to(text)
            self._cells[text] = Markup('<a href="#{}">{}</a>').format(address, text) if address else escape(text)
        return self._cells[text]

    def text(self, text: str, but_not: str = "") -> Markup:
        """A sentence with a link in place of every name, kept together where a line must not break.

        Args:
            but_not: a name that stays as it is: on its own sheet it leads nowhere.
        """
        from markupsafe import Markup, escape

        if self._names is None:
            return escape(unbroken(text))
        said, place = Markup(""), 0
        for found in self._names.finditer(text):
            if name_key(found[0]) == name_key(but_not):
                continue
            said += escape(unbroken(text[place : found.start()])) + self.cell(found[0])
            place = found.end()
        return said + escape(unbroken(text[place:]))
