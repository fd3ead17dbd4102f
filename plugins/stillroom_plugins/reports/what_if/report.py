"""Report: another menu beside today's."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.answers.menu.text import LABELS, answer, figures_told, rests_on
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable

if TYPE_CHECKING:
    from stillroom.analysis.next_menu.menu_week import Range
    from stillroom.answers.menu.what_if import WhatIf

NAMES: Final = {"today": "Today", "then": "Then", "more": "Difference", "more_low": "from", "more_high": "to"}


def build(inputs: ReportInputs) -> ReportResult:
    """The what-if as a finding and two tables."""
    found, currency = inputs.what_if, inputs.house.currency
    assert found is not None, "the host hands one over to every report on what-ifs"
    left = found.figures["left"]
    finding = Finding(
        sentence=answer(found, currency),
        evidence=" ".join([*found.warnings, *rests_on(found, currency)]),
        sureness="cannot tell" if left.more_low <= 0 <= left.more_high else "likely",
    )
    return ReportResult(findings=(finding, *_coming(found)), tables=(_week(found, currency), _drinks(found)))


def _coming(found: WhatIf) -> list[Finding]:
    """What rides along with a drink that is new: its allergens and cautions."""
    return [
        Finding(
            sentence=f"{one.drink}: allergens stated: {', '.join(one.allergens) or 'none'}.",
            evidence=" ".join(advice.text for advice in one.cautions) or "No caution applies to what is known of it.",
            subject=one.drink,
        )
        for one in found.coming
    ]


def _week(found: WhatIf, currency: str) -> ReportTable:
    rows = [
        {"figure": f"{LABELS[name][0].upper()}{LABELS[name][1:].format(currency)}", **_cells(found.figures[name])}
        for name in figures_told(found)
    ]
    note = "8 times in 10 the difference lies between from and to."
    if found.minutes_unknown:
        note += f" Minutes of work are not known of {len(found.minutes_unknown)} preparations."
    return ReportTable(
        name="week",
        title="A week on either menu, as forecast",
        frame=pl.DataFrame(rows),
        columns=_columns("figure", "A week", 1),
        note=note,
    )


def _drinks(found: WhatIf) -> ReportTable:
    rows = [{"drink": one.drink, **_cells(one.serves)} for one in found.drinks]
    frame = pl.DataFrame(rows).sort(pl.col("more").abs(), descending=True)
    return ReportTable(
        name="drinks",
        title="Serves a week, as forecast",
        frame=frame,
        columns=_columns("drink", "Drink", 0),
        subjects="drink",
    )


def _cells(one: Range) -> Mapping[str, float]:
    return {name: getattr(one, name) for name in NAMES}


def _columns(first: str, label: str, decimals: int) -> Mapping[str, Column]:
    signed = {"more", "more_low", "more_high"}
    return {first: Column(label=label)} | {
        name: Column(label=text, decimals=decimals, signed=name in signed) for name, text in NAMES.items()
    }
