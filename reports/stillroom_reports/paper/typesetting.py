"""Sets a template of `look/` in type, as PDF that a screen reader can follow: PDF/UA-1 (ISO 14289-1), text selectable.

The typesetter, Typst, brings fonts of its own, so that the same values give the same file everywhere; fonts of the
machine are asked only for signs that those lack.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stillroom_reports import theme

if TYPE_CHECKING:
    import typst

LOOK: Final = Path(__file__).parent / "look"
SIZES: Final = {"A4": "a4", "Letter": "us-letter"}
"""Paper, and what Typst calls it."""
BOX: Final = "\u25a1"
"""Stands for a sign that no font has."""
_LACKING: Final = re.compile(r'the text `"(.+?)"` could not be displayed')
_ESCAPED: Final = re.compile(r"\\u\{([0-9a-f]+)\}")


@dataclass(frozen=True, kw_only=True)
class Printed:
    """A PDF, and what could not be set in it."""

    pdf: bytes
    faults: tuple[str, ...] = ()
    """A sentence for each sign that no font has; `BOX` stands for it."""


def typeset(template: str, values: Mapping[str, Any], paper: str) -> Printed:
    """A template filled in.

    Args:
        template: a file of `look/`, without its ending.
        values: what JSON can hold; `title` names the document.
        paper: A4 or Letter.
    """
    from typst import TypstError

    text = json.dumps({**values, "paper": SIZES[paper], "colours": theme.LIGHT}, ensure_ascii=False, allow_nan=False)
    lacking: dict[str, None] = {}
    own_fonts_alone = True
    while True:
        try:
            pdf = _compiled(template, _boxed(text, lacking), own_fonts_alone)
            return Printed(pdf=pdf, faults=tuple(map(_fault, lacking)))
        except TypstError as error:
            found = _signs(error)
            if not found:
                raise
            if own_fonts_alone:
                own_fonts_alone = False
            else:
                lacking |= found


def _compiled(template: str, text: str, own_fonts_alone: bool) -> bytes:
    import typst

    return typst.compile(
        LOOK / f"{template}.typ",
        root=LOOK,
        sys_inputs={"values": text},
        format="pdf",
        pdf_standards="ua-1",
        ignore_system_fonts=own_fonts_alone,
    )


def _signs(error: typst.TypstError) -> dict[str, None]:
    """What the typesetter found no font for, in the order it says."""
    texts = (_ESCAPED.sub(lambda code: chr(int(code[1], 16)), one) for one in _LACKING.findall(error.diagnostic))
    return dict.fromkeys(sign for text in texts for sign in text)


def _boxed(text: str, signs: Iterable[str]) -> str:
    return text.translate({ord(sign): BOX for sign in signs})


def _fault(sign: str) -> str:
    name = unicodedata.name(sign, "")
    called = f"U+{ord(sign):04X}" + (f", {name.lower()}" if name else "")
    shown = f"'{sign}' ({called})" if sign.isprintable() else called
    return f"No font here has the sign {shown}: {BOX} stands for it on paper."
