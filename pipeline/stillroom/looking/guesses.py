"""What a book says without a heading of its own: in a title, in a sheet's name, in a cell that says two things.

Each guess is of columns that no heading fits. What more than one place could say is not guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import polars as pl

from stillroom.house.model import Wide
from stillroom.intake import amounts, months, values
from stillroom.intake.completing import preparations, week_of
from stillroom.intake.layouts import MADE_OF
from stillroom.intake.parting import VERSION
from stillroom.intake.shaping import AROUND, TITLE, row_words
from stillroom.looking import around, inside
from stillroom.looking.cells import Cells
from stillroom.looking.found import Found
from stillroom.looking.headings import ACROSS, Fit, how_like, wide_of
from stillroom.looking.questions import BY_ROW
from stillroom.looking.words import plain
from stillroom_schemas import fields

ONCE: Final = {
    "spec_line": ("spec", "version"),
    "batch": ("made_on", "preparation"),
    "tasting": ("session", "tasted_on", "spec", "version", "panelist", "attribute"),
    "spec": ("spec", "version"),
    "trial": ("session", "tasted_on", "spec", "panelist"),
}
"""Table -> columns that a book gives once for the rows below."""


@dataclass(frozen=True, kw_only=True)
class Guess:
    """A fit, with what the book says elsewhere."""

    fit: Fit
    constants: Mapping[str, str]
    fill_down: tuple[str, ...] = ()
    only_with: tuple[str, ...] = ()
    once: bool = False


def guessed(
    fit: Fit,
    rows: pl.DataFrame,
    cells_under: Mapping[str, Cells],
    said: Mapping[str, str] | None = None,
    called: str = "",
) -> Guess:
    """What stands elsewhere than under a heading.

    Args:
        fit: how the headings fit the table.
        cells_under: what most of the cells under each heading are.
        said: column -> what its keeper has answered.
        rows: the rows of the file, as far as they were looked at.
        called: what the file and its sheet are called.
    """
    said = said or {}
    schema = fit.table.schema()
    taken = frozenset(place for place in AROUND if any(place in answer for answer in said.values()))
    found = Found(
        columns=dict(fit.columns),
        rows=rows,
        schema=schema,
        wide=fit.wide,
        table=fit.table,
        taken=taken,
        rivals=fit.rivals,
        called=called,
    )
    if "event" in schema.columns and said.get("event") in fields.allowed(schema.columns["event"]):
        found.constants["event"] = said["event"]
    for look in (
        inside.by_cells,
        inside.labels,
        around.names,
        around.days,
        around.happenings,
        around.sessions,
        around.versions,
        inside.quantities,
        inside.prices,
        inside.cases,
        inside.fates,
        inside.events,
        inside.losses,
    ):
        look(found)
    if found.lacks("kind") and (mixed := _kinds(found)) is None:
        inside.kinds(found)
    needed = [name for name, column in schema.columns.items() if fields.needed(column)]
    there = {*found.columns, *found.constants, *found.turned}
    if ("kind", said.get("kind")) == BY_ROW:
        there.add("yield_amount")
    missing = tuple(name for name in (*needed, *fit.rivals) if name not in there and name not in said)
    if fit.table.name == "batch_event" and not {"batch", "preparation"} & {
        *there,
        *(n for n in schema.columns if n in said),
    }:
        missing = (*missing, "batch")
    wide = fit.wide
    used = {heading for several in found.columns.values() for heading in several}
    left = {h: cells for h, cells in cells_under.items() if h not in used and not h.startswith("(")}
    if wide is None:
        told = said.get("headings_are")
        open_names = [name for name in missing if told is None or name not in ACROSS or name == told]
        wide = wide_of(open_names, left, schema, week_is_known=_week_is_known(found, left))
        turned = (wide.headings_are, wide.cells_are) if wide else ()
        missing = tuple(name for name in missing if name not in turned)
    losses = _losses(found, left, schema) if wide is None and fit.table.name == "batch_event" else {}
    if losses and (turned_by := _turned_losses(losses, {*missing}, said)) is not None:
        wide = Wide(headings_are=turned_by, cells_are="amount")
        missing = tuple(name for name in missing if name != turned_by)
    open_grid = wide is None and {*ACROSS, "score"} <= {*missing}
    scores = [h for h, cells in left.items() if cells.filled and cells.numbers and plain(h) not in row_words("means")]
    across = tuple(scores) if open_grid else ()
    whole = replace(
        fit,
        wide=wide,
        columns={name: found.columns[name] for name in schema.columns if name in found.columns},
        suggested=(fit.suggested & found.columns.keys()) | (found.columns.keys() - fit.columns.keys()),
        missing=missing,
        across=across if len(across) > 1 else (),
        losses=tuple(losses) if "event" in missing else (),
        kinds=mixed if "kind" in missing else None,
    )
    once = fit.table.name == "spec" and _repeats(found)
    only_with = ("event",) if fit.table.name == "batch_event" and found.blanks("event") else ()
    fate = inside.fate_days(found)
    if fate is not None and found.columns.get("happened_on") == fate[:1] and found.blanks("happened_on"):
        only_with = ("happened_on",)  # the others are not finished yet
    if fit.table.name == "batch" and _is_week(found):
        only_with = ("made_amount",)
    if fit.table.name == "spec" and _are_sections(found):
        only_with = ("price",)
    return Guess(fit=whole, constants=found.constants, fill_down=_filled_once(found), only_with=only_with, once=once)


def _week_is_known(found: Found, left: Mapping[str, Cells]) -> bool:
    """Whether some headings are weekdays, and every row is of a week that is said around it."""
    headings = [heading for heading in left if months.is_weekday(heading)]
    around_rows = found.rows.select(place for place in AROUND if place in found.rows.columns).unique()
    rows = around_rows.iter_rows(named=True)
    return bool(headings) and around_rows.width > 0 and all(week_of(headings, row) for row in rows)


def _losses(found: Found, left: Mapping[str, Cells], schema: Any) -> dict[str, str | None]:
    """Headings above amounts, two at least and none of what was made -> the event that each names, if it names one."""
    if "amount" in found.columns or "event" in found.columns:
        return {}
    several = [heading for heading, cells in left.items() if cells.filled]
    amounts_alone = all(left[heading].amounts or left[heading].numbers for heading in several)
    if len(several) < 2 or not amounts_alone or any(how_like(h, "made_amount") > 0 for h in several):
        return {}
    events = values.spellings(fields.allowed(schema.columns["event"]))
    return {heading: events.get(amounts.without_unit(heading).casefold()) for heading in several}


def _turned_losses(losses: Mapping[str, str | None], missing: set[str], said: Mapping[str, str]) -> str | None:
    """What such headings are: the events themselves, or, once it is said what event all are, the reasons."""
    if "event" in missing and all(losses.values()):
        return "event"
    return "reason" if "event" in said and not {"counted", "used up"} & {*losses.values()} else None


def with_labels(guess: Guess, partner: Guess, said: Mapping[str, str]) -> Guess:
    """A guess of rows that are about others of the same file, with labels made as those are; `partner`: of those.

    A row is about another one only where that happened on another day: a heading of its own tells which.
    """
    fit, made = guess.fit, partner.fit.columns
    within = [h for column in MADE_OF["batch"] for h in made.get(column, ())]
    apart = len(set(within)) == len(within) > 1 and fit.columns.get("happened_on") != made.get("made_on")
    if "batch" in fit.columns or "batch" in said or partner.fit.missing or not apart:
        return guess
    columns = {name: several for name, several in fit.columns.items() if name != "preparation"}
    labelled = replace(
        fit,
        columns=columns | {"batch": tuple(within)},
        suggested=fit.suggested - {"preparation"} | {"batch"},
        missing=tuple(name for name in fit.missing if name != "batch"),
    )
    return replace(guess, fit=labelled, fill_down=(*guess.fill_down, *(("batch",) if partner.fill_down else ())))


def _kinds(found: Found) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
    """The drinks and the preparations of a book that has both, told by what their rows say."""
    [spec, *_] = found.columns.get("spec", ("",))
    if spec not in found.rows.columns or found.table.name != "spec":
        return None
    names = found.rows[spec].str.strip_chars()
    rows = found.rows.with_columns(names.set(names == "", None).forward_fill().alias(spec))
    says = [h for column in ("yield_amount", "keeps_days") for h in found.columns.get(column, ()) if h in rows]
    made = preparations(rows, spec, says, [h for several in found.columns.values() for h in several])
    pairs = [(VERSION.sub("", name or ""), one) for name, one in zip(rows[spec], made, strict=True)]
    drinks, preps = (tuple(dict.fromkeys(n for n, one in pairs if n and one is kind)) for kind in (False, True))
    return (drinks, preps) if drinks and preps else None


def _is_week(found: Found) -> bool:
    """Whether every preparation stands once under each day: where no amount does, nothing was made."""
    [name, *_] = found.columns.get("preparation", ("",))
    if found.columns.get("made_on") != (TITLE,) or name not in found.rows.columns or not found.blanks("made_amount"):
        return False
    names = found.rows.group_by(TITLE).agg(pl.col(name))[name].to_list()
    return len(names) > 1 and all(one == names[0] and len(set(one)) == len(one) for one in names)


def _are_sections(found: Found) -> bool:
    """Whether the lines of a menu that have no price have one cell alone: 'LONG DRINKS', 'prices include service'."""
    [price, *_] = found.columns.get("price", ("",))
    if price not in found.rows.columns:
        return False
    rows = found.rows.select(pl.col(h).fill_null("").str.strip_chars() for h in found.rows.columns if h not in AROUND)
    bare = rows.filter(pl.col(price) == "")
    return not bare.is_empty() and bool((bare.select(pl.sum_horizontal(pl.all() != "")).to_series() == 1).all())


def _filled_once(found: Found) -> tuple[str, ...]:
    """Columns that are given on the first of several rows."""
    several = []
    around_them = sum(place in found.rows.columns for place in AROUND)
    for name in ONCE.get(found.table.name, ()):
        headings = [h for h in found.columns.get(name, ()) if h not in AROUND]
        if len(headings) != 1 or headings[0].startswith("(") or headings[0] not in found.rows.columns:
            continue
        cells = found.rows.filter(pl.sum_horizontal(pl.all().fill_null("") != "") > 1 + around_them)[headings[0]]
        cells = cells.fill_null("").str.strip_chars()
        if len(cells) and cells[0] and (cells == "").any():
            several.append(name)
    return tuple(several)


def _repeats(found: Found) -> bool:
    """Whether a spec stands on several lines."""
    headings = [h for name in ("spec", "version") for h in found.columns.get(name, ()) if h in found.rows.columns]
    if not headings:
        return False
    keys = found.rows.select(pl.concat_str([pl.col(h).fill_null("") for h in dict.fromkeys(headings)], separator="|"))
    return bool(keys.to_series().is_duplicated().any()) or found.blanks("spec")
