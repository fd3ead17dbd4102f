"""The page: one HTML file that holds all it needs and asks for nothing from anywhere."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Final

from stillroom.objects import Column
from stillroom.words import day_text, period_text, season_text, short_amount, short_day, unbroken
from stillroom_reports import group, theme
from stillroom_reports.beside import beside
from stillroom_reports.document import Document
from stillroom_reports.drawn_before import Drawings
from stillroom_reports.figures import value_text
from stillroom_reports.glance import MAKINGS, ON_A_PHONE, glance
from stillroom_reports.linking import Links
from stillroom_reports.sections import Section, sections
from stillroom_reports.sheets import SheetOnPage, addresses, sheets_on_page
from stillroom_reports.tables import filled

if TYPE_CHECKING:
    from jinja2 import Environment

IN_A_REPORT: Final = 6
"""Findings of one report that are shown before the rest is folded away."""
TABLES_IN_A_REPORT: Final = 3
"""The same of its tables."""
STYLES: Final = ("page.css", "pictures.css", "glance.css", "tables.css", "sheets.css", "scripted.css", "print.css")
SCRIPTS: Final = ("page.js", "find.js", "tables.js", "tips.js")


def render_page(document: Document) -> str:
    """The document as HTML; the same document gives the same text.

    A chart or table that cannot be shown has a line in its place that says why. What is embedded: style, scripts, and a
    policy that lets the browser run these and fetch nothing. Without scripts everything is there and readable.
    """
    from markupsafe import Markup

    before = Drawings()
    parts = sections(document, before)
    review = document.review
    ids = addresses(review.sheets) if review else group.addresses(document)
    things = sheets_on_page(document, parts, ids, before)
    houses = group.houses_on_page(document, parts, ids, before)
    before.keep()
    style, scripts = _style(), [_look(name) for name in SCRIPTS]
    # Every text below that is Markup comes from the package or the chart library, never from the data.
    return (
        _templates()
        .get_template("page.html")
        .render(
            document=document,
            currency=document.house.currency,
            facts=[(label, value_text(value, Column(label=label))) for label, value in document.facts],
            period=period_text(document.period),
            season=season_text(document.period),
            glance=glance(review, document.house.currency) if review else None,
            against=beside(review, document.house.currency) if review else None,
            all_whole=all(drink.whole for drink in review.drinks) if review else True,
            sections=parts,
            report_ids={section.name: section.id for section in parts},
            report_titles={section.name: section.title for section in parts},
            in_a_report=IN_A_REPORT,
            on_a_phone=ON_A_PHONE,
            makings_shown=MAKINGS,
            tables_in_a_report=TABLES_IN_A_REPORT,
            things=things,
            houses=houses,
            together=group.first_screen(document) if houses else None,
            links=Links(ids),
            filled=filled,
            names=_names(things, houses, parts),
            amount=short_amount,
            day=day_text,
            short_day=short_day,
            style=Markup(style),
            scripts=[Markup(script) for script in scripts],
            policy=_policy(style, scripts),
        )
    )


def _names(
    things: Sequence[SheetOnPage], houses: Sequence[group.HouseOnPage], parts: Sequence[Section]
) -> list[tuple[str, str, str]]:
    """What the search box knows: a name, where it leads, and what it is."""
    names = [(thing.sheet.name, thing.id, thing.sheet.kind) for thing in things]
    names += [(house.member.name, house.id, "house") for house in houses]
    names += [(section.title, section.id, "question") for section in parts]
    names += [(alias, one.id, f"{one.sheet.name}, on the till") for one in things for alias in one.sheet.aliases]
    names += [(batch.batch, one.id, f"batch of {one.sheet.name}") for one in things for batch in one.sheet.batches]
    return names


def _policy(style: str, scripts: Sequence[str]) -> str:
    """A Content Security Policy (W3C, level 3): nothing but these very texts, and no request at all."""
    scripts_allowed = " ".join(_source_hash(script) for script in scripts)
    rules = {
        "default-src": "'none'",
        "script-src": scripts_allowed,
        "style-src": _source_hash(style),
        "base-uri": "'none'",
        "form-action": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in rules.items())


def _source_hash(text: str) -> str:
    digest = base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
    return f"'sha256-{digest}'"


def _style() -> str:
    light, dark = theme.css_variables(theme.LIGHT), theme.css_variables(theme.DARK)
    schemes = f":root{{{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    return schemes + "".join(map(_look, STYLES))


@cache
def _look(name: str) -> str:
    return files("stillroom_reports").joinpath("look", name).read_text(encoding="utf-8")


@cache
def _templates() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    from stillroom_reports.compiled import Compiled

    environment = Environment(
        loader=PackageLoader("stillroom_reports", "look"),
        bytecode_cache=Compiled(),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["unbroken"] = unbroken
    return environment
