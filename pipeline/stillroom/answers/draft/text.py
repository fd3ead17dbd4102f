"""A draft in words: today's version and the draft side by side, 80 columns wide; and as plain values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from shlex import quote
from typing import Any, Final

from stillroom.analysis.specs.acids import ACIDS
from stillroom.analysis.specs.sheet import SheetLine, SpecSheet
from stillroom.answers.advice import DEFERRAL, Advice
from stillroom.answers.draft.build import Draft
from stillroom.answers.draft.careful import Turned
from stillroom.answers.draft.effects import SEASON_WEEKS, DrinkEffect
from stillroom.answers.draft.to_book import Written
from stillroom.names import name_key
from stillroom.words import THIN_SPACE, listed, shortest, wrapped

_LABEL: Final = 30
_CELL: Final = 15


def draft_text(draft: Draft, currency: str, written: Written | None = None) -> str:
    """The whole draft for people, and what became of it."""
    spec = draft.before.spec
    blocks = [
        [_row(spec.spec, f"version {spec.version}", "draft"), *_lines(draft)],
        list(_figures(draft, currency)),
        list(_aims(draft)),
        list(_contains(draft)),
        list(_careful(draft.cautions)),
        list(_drinks(draft.drinks, currency)),
        list(_rests_on(draft)),
        list(_written(draft, written)) if written else [],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block).replace(THIN_SPACE, " ") + "\n"


def draft_values(draft: Draft, currency: str, written: Written | None = None) -> dict[str, Any]:
    """The draft as plain values."""
    return {
        "spec": draft.before.spec.spec,
        "version": draft.before.spec.version,
        "currency": currency,
        "before": _sheet_values(draft.before),
        "draft": _sheet_values(draft.after),
        "before_rounding": dict(draft.exact),
        "aims": [{"aim": one.aim.text, "reached": one.value, "ends": one.ends, "met": one.met} for one in draft.aims],
        "cautions": _cautions_values(draft.cautions),
        "aims_at_odds": [aim.text for aim in draft.at_odds],
        "drinks": [
            {
                "drink": one.drink,
                "serves_a_week": one.serves_a_week,
                "saved_a_season": one.a_season,
                "cautions": _cautions_values(one.cautions),
                "before": _sheet_values(one.before),
                "draft": _sheet_values(one.after),
            }
            for one in draft.drinks
        ],
        "written": asdict(written) if written else None,
    }


def _cautions_values(turned: Turned) -> dict[str, Any]:
    return {name: [asdict(one) for one in getattr(turned, name)] for name in ("come", "gone", "stay")}


def _sheet_values(sheet: SpecSheet) -> dict[str, Any]:
    return {
        "lines": [{"item": line.item, "amount": line.amount, "unit": line.unit} for line in sheet.lines],
        "makes": sheet.makes,
        "makes_unit": sheet.makes_unit,
        "as_served": asdict(sheet.served),
        "allergens": list(sheet.allergens),
        "cost": sheet.cost.whole,
        "cost_at_least": sheet.cost.known,
        "no_price_for": list(sheet.cost.missing),
        "a_serve_takes_in": sheet.taken,
        "left_after_cost": sheet.left,
        "assumptions": list(sheet.assumptions),
    }


def _row(label: str, before: str, after: str, note: str = "") -> str:
    cells = (
        f"{label:<{_LABEL}}{before:>{_CELL}}{after:>{_CELL}}" if len(label) < _LABEL else f"{label} {before:>9} {after}"
    )
    return f"{cells}  {note}".rstrip()


# Lines ---------------------------------------------------------------------------------------------


def _lines(draft: Draft) -> list[str]:
    before = {name_key(line.item): line for line in draft.before.lines}
    after = {name_key(line.item): line for line in draft.after.lines}
    return [_line(before.get(key), after.get(key)) for key in dict.fromkeys([*before, *after])]


def _line(before: SheetLine | None, after: SheetLine | None) -> str:
    one = after or before
    assert one is not None
    if before and after:
        moved = after.amount - before.amount if after.unit == before.unit else None
        note = "" if moved is not None and abs(moved) < 1e-9 else "changed" if moved is None else _signed(moved)
    else:
        note = "new" if after else "gone"
    return _row(f"  {one.item}", _amount(before), _amount(after), note)


def _amount(line: SheetLine | None) -> str:
    return "" if line is None else f"{shortest(line.amount)} {line.unit}"


def _signed(value: float) -> str:
    return f"{'+' if value > 0 else ''}{shortest(value)}"


# Figures -------------------------------------------------------------------------------------------


def _figures(draft: Draft, currency: str) -> Iterator[str]:
    """What is in it and what it costs: of a serve as served, or of a making."""
    before, after = draft.before.served, draft.after.served
    drink = draft.before.spec.kind == "drink"
    yield "In the glass, as served" if drink else "What it comes to"
    for label, name, form, low, high in _FIGURES:
        old, new = getattr(before, name), getattr(after, name)
        if old or new:
            ends = (getattr(after, low), getattr(after, high)) if low else None
            yield _row(f"  {label}", _known(old, form), _known(new, form), _between(ends, form))
    if not drink:
        yield _row(
            "  comes out", *(f"{shortest(round(s.makes, 1))} {s.makes_unit}" for s in (draft.before, draft.after))
        )
        today = f"{draft.before.spec.keeps_days:g} days" if draft.before.spec.keeps_days else "not said"
        yield _row("  keeps", today, f"{today}?" if draft.before.spec.keeps_days else today, "not tested")
    of = "a serve" if drink else "a litre" if draft.before.makes_unit == "ml" else "a making"
    of_a_litre = (sheet.cost.times(1000 / sheet.makes) for sheet in (draft.before, draft.after))
    costs = of_a_litre if of == "a litre" else (draft.before.cost, draft.after.cost)
    yield _row(f"  {of} costs", *(f"{'> ' if cost.missing else ''}{currency} {cost.known:.2f}" for cost in costs))
    if draft.after.cost.missing:
        yield from wrapped(f"No price for {listed(draft.after.cost.missing)}.", "    ", "    ")
    if drink and draft.before.left is not None:
        of_what = f"of {draft.before.taken:.2f} {'net' if draft.before.net_per_serve else 'with tax'}"
        yield _row("  left of a serve", _left(draft.before, currency), _left(draft.after, currency), of_what)


_FIGURES: Final = (
    ("volume, ml", "volume_ml", ".0f", "", ""),
    ("strength, % vol", "abv_pct", ".1f", "", ""),
    ("°Brix", "brix", ".1f", "brix_low", "brix_high"),
    ("sugar, g in 100 ml", "sugar_g_100ml", ".1f", "sugar_low_g_100ml", "sugar_high_g_100ml"),
    ("acid as citric, g in 100 ml", "acid_g_100ml", ".2f", "acid_low_g_100ml", "acid_high_g_100ml"),
    *((f"  of it {kind}, as itself", f"{kind}_g_100ml", ".2f", "", "") for kind in ACIDS),
    ("sugar to acid", "sugar_acid_ratio", ".1f", "sugar_acid_low", "sugar_acid_high"),
)


def _known(value: float | None, form: str) -> str:
    return "-" if value is None else f"{value:{form}}"


def _between(ends: tuple[float | None, float | None] | None, form: str) -> str:
    """How far a figure moves as fruit differs, where that shows."""
    low, high = ends or (None, None)
    if low is None or high is None or f"{low:{form}}" == f"{high:{form}}":
        return ""
    return f"{low:{form}} to {high:{form}}"


def _left(sheet: SpecSheet, currency: str) -> str:
    return "-" if sheet.left is None else f"{currency} {sheet.left:.2f}"


def _aims(draft: Draft) -> Iterator[str]:
    for one in draft.aims:
        said = "aim met" if one.met else "aim missed"
        yield _row(f"  {one.aim.text}", "", _known(one.value, ".4g"), said)
        if between := _between(one.ends, ".3g"):
            yield from wrapped(f"as fruit differs: {between}", "    ", "    ")
    if draft.at_odds:
        said = ", ".join(aim.text for aim in draft.at_odds)
        what = "exclude one another" if len(draft.at_odds) > 1 else "cannot be met"
        yield from wrapped(
            f"With what may change, these aims {what}: {said}. The draft is the nearest that can be had."
        )
    rounded = [f"{item} {shortest(round(amount, 2))}" for item, amount in draft.exact.items()]
    if rounded:
        yield from wrapped(f"Before rounding to what can be measured: {', '.join(rounded)}.", "  ")


def _contains(draft: Draft) -> Iterator[str]:
    """Allergens, come and gone, with the usual caution."""
    before, after = set(draft.before.allergens), set(draft.after.allergens)
    yield from wrapped(f"Allergens stated: {', '.join(sorted(after)) or 'none'}{_come_and_gone(before, after)}.")
    if draft.before.spec.kind != "drink":
        yield from wrapped(
            "Keeping: not tested. Keep the draft as the shorter of today's version and of what is in it. " + DEFERRAL
        )


def _careful(turned: Turned) -> Iterator[str]:
    """Cautions that come and go; those that stay are counted."""
    for one in turned.come:
        yield from wrapped(f"Comes: {one.title}: {one.text} [{one.source}]", "  ! ", "    ")
    for one in turned.gone:
        yield from wrapped(f"Goes: {one.title}.", "    ", "    ")
    if turned.stay:
        yield from wrapped(
            f"Stays: {', '.join(one.title for one in turned.stay)} (stillroom spec tells them).", "    ", "    "
        )


def _come_and_gone(before: set[str], after: set[str], new: str = "new", gone: str = "gone") -> str:
    said = [f"{new}: {', '.join(sorted(after - before))}"] if after - before else []
    said += [f"{gone}: {', '.join(sorted(before - after))}"] if before - after else []
    return f" ({'; '.join(said)})" if said else ""


def _drinks(drinks: Iterable[DrinkEffect], currency: str) -> Iterator[str]:
    """What the draft does to each drink that uses it."""
    for place, one in enumerate(drinks):
        if not place:
            yield "In the drinks that use it"
        yield from wrapped(f"{one.drink}: {_effect(one, currency)}.", "  ", "    ")


def _effect(one: DrinkEffect, currency: str) -> str:
    said = []
    if one.before.cost.whole is not None and one.after.cost.whole is not None:
        dearer = round(one.after.cost.whole - one.before.cost.whole, 2)
        said.append(f"{_signed(dearer)} a serve" if dearer else "costs much the same")
    for word, name in (("sugar", "sugar_g_100ml"), ("acid", "acid_g_100ml"), ("strength", "abv_pct")):
        old, new = getattr(one.before.served, name), getattr(one.after.served, name)
        if old is not None and new is not None and abs(new - old) >= 0.05:
            said.append(f"{word} {old:.1f} to {new:.1f}")
    said.append(f"{one.serves_a_week:.0f} serves a week lately")
    if one.a_season is not None and round(one.a_season):
        more = "saves" if one.a_season > 0 else "costs"
        said.append(f"{more} {currency} {abs(one.a_season):.0f} over {SEASON_WEEKS} weeks at these serves")
    if one.after.left is not None:
        said.append(f"leaves {currency} {one.after.left:.2f} of {one.after.taken:.2f} a serve")
    come = _come_and_gone(set(one.before.allergens), set(one.after.allergens))
    careful = _come_and_gone(_titles(one.cautions.gone), _titles(one.cautions.come), "new caution", "no longer")
    return ", ".join(said) + come + careful


def _titles(cautions: Iterable[Advice]) -> set[str]:
    return {one.title for one in cautions}


def _rests_on(draft: Draft) -> Iterator[str]:
    said = [text for text in draft.after.assumptions if text]
    if said:
        yield "The draft's figures rest on:"
    for text in said:
        yield from wrapped(text, "  - ", "    ")


def _written(draft: Draft, written: Written) -> Iterator[str]:
    where = " and ".join(written.files)
    yield from wrapped(f"Written: {written.spec}, version {written.version}, not in service, into {where}.")
    versions = f"{draft.before.spec.version} {written.version}"
    yield from wrapped(f"Next: stillroom intake; then stillroom panel plan {quote(written.spec)} {versions}")
