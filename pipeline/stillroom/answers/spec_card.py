"""Writes a spec sheet out: as text to put beside the scale, and as plain values for JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from stillroom.analysis.specs.scaling import decimals, weighable
from stillroom.words import COUNTED, WIDTH, listed, of_unit

if TYPE_CHECKING:
    from stillroom.analysis.specs.costing import Cost
    from stillroom.analysis.specs.figures import Figures
    from stillroom.analysis.specs.sheet import SheetLine, SpecSheet
    from stillroom.answers.advice import Advice


def card_text(sheet: SpecSheet, advice: Iterable[Advice], currency: str, standard_word: str | None) -> str:
    """The whole sheet: what to be careful of first, then amounts, figures, cost, and what they rest on.

    Args:
        standard_word: what the house's standard drinks are called; None where it has no national definition.
    """
    blocks = [
        _heading(sheet),
        _careful(advice),
        _lines(sheet, currency),
        _composition(sheet, standard_word),
        _cost(sheet, currency),
        _makes(sheet),
        _rests_on(sheet),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def card_values(sheet: SpecSheet, advice: Iterable[Advice], currency: str) -> dict[str, Any]:
    """The sheet as plain values: mappings, lists, numbers, texts and dates; None where something is not known."""
    spec = asdict(sheet.spec)
    del spec["lines"]
    return {
        "spec": spec,
        "currency": currency,
        "factor": sheet.factor,
        "makes": {"amount": sheet.makes, "unit": sheet.makes_unit},
        "cautions": [asdict(one) for one in advice],
        "lines": [{**asdict(line), "cost": _cost_values(line.cost)} for line in sheet.lines],
        "before_chilling": asdict(sheet.before),
        "as_served": asdict(sheet.served),
        "allergens_stated": list(sheet.allergens),
        "priced_on": sheet.priced_on,
        "cost": _cost_values(sheet.cost),
        "cost_of_all": _cost_values(sheet.cost_scaled),
        "net_taken_a_serve": sheet.net_per_serve,
        "share_of_price": sheet.cost_share,
        "yield": {**asdict(sheet.comes_out), "share": sheet.comes_out.share},
        "serves_a_making_gives": sheet.serves.to_dicts(),
        "used_in": [{"spec": name, "through": through or None} for name, through in sheet.used_in],
        "before_chilling_ml": _poured(sheet)[0],
        "chilling_adds_ml": sheet.chilling_ml,
        "assumptions": list(sheet.assumptions),
    }


def _cost_values(cost: Cost) -> dict[str, Any]:
    return {"whole": cost.whole, "at_least": cost.known, "no_price_for": list(cost.missing)}


def _heading(sheet: SpecSheet) -> list[str]:
    spec = sheet.spec
    facts = [spec.kind]
    if spec.in_service_from:
        facts.append(f"in service from {spec.in_service_from}")
    if spec.in_service_until:
        facts.append(f"until {spec.in_service_until}")
    if spec.storage:
        facts.append(f"kept {'at room temperature' if spec.storage == 'ambient' else f'in the {spec.storage}'}")
    if spec.keeps_days:
        facts.append(f"keeps {spec.keeps_days:g} days")
    return [f"{spec.label}", *_wrapped(", ".join(facts)), *_wrapped(spec.method), *_wrapped(spec.note)]


def _careful(advice: Iterable[Advice]) -> list[str]:
    said = [line for one in advice for line in _wrapped(f"{one.title}: {one.text} [{one.source}]", "  ! ", "    ")]
    return ["Be careful:", *said] if said else []


def _lines(sheet: SpecSheet, currency: str) -> list[str]:
    makes = _amount(sheet.makes, sheet.makes_unit)
    before, after = (f"{weighable(one):.0f} ml" for one in _poured(sheet))
    if sheet.chilling_ml and sheet.factor != 1:
        makes += f" ({before} before chilling, {after} as served)"
    rows = [_line_cells(line, currency) for line in sheet.lines]
    if not rows:
        return [f"To make {makes}:", "  no lines"]
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    said = [
        f"  {item:<{widths[0]}}  {amount:>{widths[1]}}  {grams:>{widths[2]}}  {cost:>{widths[3]}}".rstrip()
        for item, amount, grams, cost in rows
    ]
    if sheet.chilling_ml:
        said += _wrapped(
            f"To bottle it ready to pour, without ice: add {weighable(sheet.chilling_ml):.0f} ml water, as much as "
            f"chilling adds; {after} in all."
        )
    return [f"To make {makes}:", *said]


def _poured(sheet: SpecSheet) -> tuple[float, float]:
    """All of a drink before chilling and as served, ml."""
    serves = sheet.factor * sheet.spec.serves
    return sheet.before.volume_ml * serves, sheet.served.volume_ml * serves


def _line_cells(line: SheetLine, currency: str) -> tuple[str, str, str, str]:
    name = line.item if line.version is None else f"{line.item} (version {line.version})"
    amount = _amount(line.amount, line.unit)
    grams = "" if line.weigh_g is None or line.unit == "g" else f"{line.weigh_g:.{decimals(line.weigh_g)}f} g"
    return name, amount, grams, _money(line.cost, currency)


def _amount(amount: float, unit: str) -> str:
    if unit in COUNTED:
        return of_unit(f"{round(amount, 2):g}", unit)
    rounded = weighable(amount) if amount != round(amount, 2) else amount
    return of_unit(f"{rounded:.{decimals(rounded)}f}", unit)


def _composition(sheet: SpecSheet, standard_word: str | None) -> list[str]:
    if sheet.spec.kind != "drink":
        return ["In a making:", *_figures(sheet.served, standard_word), *_allergens(sheet)]
    said = ["In a serve, as served:", *_figures(sheet.served, standard_word)]
    if sheet.served != sheet.before:
        before = sheet.before
        strength = "" if before.abv_pct is None else f", {before.abv_pct:.1f} % vol"
        said.append(f"  before chilling {before.volume_ml:.0f} ml{strength}")
    return [*said, *_allergens(sheet)]


def _figures(figures: Figures, standard_word: str | None) -> list[str]:
    """Volume and mass; alcohol; sugar and acid: a line each; one for all where nothing could be counted."""
    if figures.mass_g == 0:
        return [f"  {'figures':<14}not known: see what was not counted"]
    alcohol = f"{figures.alcohol_g:.1f} g"
    if figures.standard_drinks is not None and standard_word:
        alcohol += f", {figures.standard_drinks:.1f} {standard_word}"
    rows = [
        ("volume", f"{figures.volume_ml:.0f} ml, {figures.mass_g:.0f} g, of it water {figures.water_g:.0f} g"),
        ("density", _known(figures.density_g_ml, ".3f", "g/ml")),
        ("alcohol", f"{_known(figures.abv_pct, '.1f', '% vol')}, {alcohol}"),
        (
            "sugar",
            f"{_known(figures.sugar_g_100ml, '.1f', 'g/100 ml')}, {_known(figures.brix, '.1f', '°Brix')}"
            f"{_between(figures.brix_low, figures.brix_high, '.1f')}",
        ),
        (
            "acid",
            f"{_known(figures.acid_g_100ml, '.2f', 'g/100 ml as citric acid')}"
            f"{_between(figures.acid_low_g_100ml, figures.acid_high_g_100ml, '.2f')}",
        ),
        ("sugar to acid", _known(figures.sugar_acid_ratio, ".1f", "to 1")),
    ]
    return [f"  {name:<14}{value}" for name, value in rows]


def _between(low: float | None, high: float | None, form: str) -> str:
    """The ends of a range, where they differ as shown."""
    if low is None or high is None or f"{low:{form}}" == f"{high:{form}}":
        return ""
    return f" ({low:{form}} to {high:{form}})"


def _known(value: float | None, form: str, unit: str) -> str:
    return "not known" if value is None else f"{value:{form}} {unit}"


def _allergens(sheet: SpecSheet) -> list[str]:
    return _wrapped(f"allergens     {', '.join(sheet.allergens) or 'none stated'}", "  ", " " * 16)


def _cost(sheet: SpecSheet, currency: str) -> list[str]:
    of = "a serve" if sheet.spec.kind == "drink" else "a making"
    said = f"Cost {_money(sheet.cost, currency)} {of}"
    if sheet.cost_share is not None:
        share = f"{100 * sheet.cost_share:.1f} % of"
        if sheet.net_per_serve:
            said += f", {share} the {currency} {sheet.net_per_serve:.2f} net that a serve took in"
        else:
            said += f", {share} the menu price of {currency} {sheet.spec.price:.2f}, with any tax in it"
    if sheet.cost_scaled != sheet.cost:
        said += f"; {_money(sheet.cost_scaled, currency)} for all of it"
    if sheet.cost.missing:
        said += f"; no price for {', '.join(sheet.cost.missing)}"
    prices = f"at the prices of {sheet.priced_on}" if sheet.priced_on else "at the latest prices"
    return _wrapped(f"{said}; {prices}.")


def _money(cost: Cost, currency: str) -> str:
    return f"{'at least ' if cost.missing else ''}{currency} {cost.known:.2f}"


def _makes(sheet: SpecSheet) -> list[str]:
    said = [f"Yield: {sheet.comes_out.said}."] if sheet.comes_out.said else []
    if sheet.serves.height:
        serves = [f"{row['serves']:.0f} serves of {row['drink']}" for row in sheet.serves.iter_rows(named=True)]
        said.append(f"A making gives {' or '.join(serves)}.")
    own = [name for name, through in sheet.used_in if not through]
    by_part: dict[str, list[str]] = {}
    for name, through in sheet.used_in:
        if through:
            by_part.setdefault(through, []).append(name)
    inside = [f"by {part} into {listed(names)}" for part, names in by_part.items()]
    if sheet.used_in:
        said.append(f"Goes into {'; '.join([listed(own), *inside])}.")
    return [line for text in said for line in _wrapped(text)]


def _rests_on(sheet: SpecSheet) -> list[str]:
    said = [line for text in sheet.assumptions for line in _wrapped(text, "  - ", "    ")]
    return ["The figures rest on:", *said] if said else []


def _wrapped(text: str | None, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(text or "", WIDTH, initial_indent=first, subsequent_indent=rest)
