"""What to taste next, in words, 80 columns wide, and as plain values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from shlex import quote
from typing import Any, Final

from stillroom.analysis.bench.next_versions import TELLS
from stillroom.analysis.specs.sheet import SpecSheet
from stillroom.answers.draft.what_next import Proposal, WhatNext
from stillroom.names import name_key
from stillroom.words import THIN_SPACE, counted, listed, number, percent, shortest, signed, wrapped

_LABEL: Final = 25
_CELL: Final = 11
_FIGURES: Final = (
    ("strength, % vol", "abv_pct", 1),
    ("°Brix", "brix", 1),
    ("acid, g in 100 ml", "acid_g_100ml", 2),
    ("sugar to acid", "sugar_acid_ratio", 1),
)


def what_next_text(found: WhatNext, currency: str) -> str:
    """All of it for people."""
    blocks = [_rests_on(found), _scales(found), _tried(found), _proposals(found, currency), _how(found)]
    texts = ["\n".join(block) for block in blocks]
    return "\n\n".join(text for text in texts if text).replace(THIN_SPACE, " ") + "\n"


def what_next_values(found: WhatNext, currency: str) -> dict[str, Any]:
    """All of it as plain values."""
    return {
        "spec": found.base.spec.spec,
        "beside_version": found.base.spec.version,
        "currency": currency,
        "may_change": list(found.items),
        "step": found.step,
        "scores": found.scores,
        "people": found.people,
        "sittings": found.sittings,
        "tried": [asdict(one) for one in found.tried],
        "taste_again": list(found.again),
        "penalties": found.penalties.to_dicts(),
        "proposals": [
            {
                "lines": [{"item": line.item, "amount": line.amount, "unit": line.unit} for line in one.lines],
                "liking_beside_best": one.gain,
                "low": one.low,
                "high": one.high,
                "expected_improvement": one.promise,
                "as_served": asdict(one.sheet.served),
                "cost": one.sheet.cost.whole,
            }
            for one in found.proposals
        ],
    }


def _rests_on(found: WhatNext) -> Iterator[str]:
    spec = found.base.spec
    yield f"{spec.spec}: what to taste next"
    if not found.scores:
        yield from _said("Nobody has scored its liking yet: nothing is known, and these lie as far apart as they can.")
        return
    yield from _said(
        f"From {counted(found.scores, 'score')} of liking by {counted(found.people, 'person', 'people')} in "
        f"{counted(found.sittings, 'sitting')}; version {spec.version} is held best so far."
    )


def _scales(found: WhatNext) -> Iterator[str]:
    """Just-about-right scales on which a fifth of the people or more lie to one side."""
    for place, row in enumerate(found.penalties.iter_rows(named=True)):
        if not place:
            yield f"Just-about-right scales, version {found.base.spec.version}"
        text = f"{row['attribute']} {row['side']}: {row['count']} of {row['panelists']}"
        if row["drop"] is None:
            text += "; too few to say what it costs"
        else:
            text += f"; they like it {number(row['drop'], 1)} less"
            text += "" if row["low"] is None else f" ({number(row['low'], 1)} to {number(row['high'], 1)})"
            text += f", {number(row['penalty'], 1)} points over all"
        yield from wrapped(f"{text}.", "  ", "    ")


def _tried(found: WhatNext) -> Iterator[str]:
    """Liking of each version beside the best, and which are to be tasted again."""
    best = found.base.spec.version
    others = [one for one in found.tried if one.version != best]
    if others:
        yield f"Liking beside version {best}, points"
    for one in others:
        more = ", other lines differ, too" if one.otherwise else ""
        yield f"  version {one.version}: {signed(one.gain, 1)} ({signed(one.low, 1)} to {signed(one.high, 1)}){more}"
    if len(found.again) > 1:
        names = listed([str(version) for version in sorted(found.again)])
        yield from _said(
            f"Taste these again: versions {names}. Which is liked best cannot be told from chance (no more than "
            f"{percent(TELLS)} certain)."
        )


def _proposals(found: WhatNext, currency: str) -> Iterator[str]:
    names = [chr(65 + place) for place in range(len(found.proposals))]
    yield _row(f"To taste beside version {found.base.spec.version}", [f"v{found.base.spec.version}", *names])
    for line in found.base.spec.lines:
        if name_key(line.item) in found.items:
            amounts = [_amount(one, line.item) for one in found.proposals]
            yield _row(f"  {line.item}", [f"{shortest(line.amount)} {line.unit}", *amounts])
    sheets = [found.base, *(one.sheet for one in found.proposals)]
    yield _row("  liking, beside it", ["", *(signed(one.gain, 1) for one in found.proposals)])
    yield _row("    from", ["", *(signed(one.low, 1) for one in found.proposals)])
    yield _row("    to", ["", *(signed(one.high, 1) for one in found.proposals)])
    for label, name, decimals in _FIGURES:
        values = [getattr(sheet.served, name) for sheet in sheets]
        if any(values):
            yield _row(f"  {label}", ["-" if value is None else number(value, decimals) for value in values])
    of, costs = _costs(found.base, sheets)
    yield _row(f"  {of} costs, {currency}", costs)


def _costs(base: SpecSheet, sheets: list[SpecSheet]) -> tuple[str, list[str]]:
    """Of a serve of a drink, of a litre of what comes in ml, of a making of the rest."""
    if base.spec.kind == "drink" or base.makes_unit != "ml":
        of, costs = "a serve" if base.spec.kind == "drink" else "a making", [sheet.cost for sheet in sheets]
    else:
        of, costs = "a litre", [sheet.cost.times(1000 / sheet.makes) for sheet in sheets]
    return of, [f"{'> ' if cost.missing else ''}{number(cost.known, 2)}" for cost in costs]


def _amount(one: Proposal, item: str) -> str:
    line = next((line for line in one.lines if line.item == item), None)
    return "none" if line is None else f"{shortest(line.amount)} {line.unit}"


def _row(label: str, cells: list[str]) -> str:
    return f"{label:<{_LABEL}}{''.join(f'{cell:>{_CELL}}' for cell in cells)}".rstrip()


def _how(found: WhatNext) -> Iterator[str]:
    yield from _said(
        f"Each amount moves by {percent(found.step)} at most. Chosen where liking may gain most over version "
        f"{found.base.spec.version}, as far as its band reaches (expected improvement): what may be is no promise. "
        "Keeping: not tested, keep as the shorter."
    )
    spec, first = found.base.spec, found.proposals[0]
    left = {line.item: line for line in first.lines}
    changes = [
        f"--set {quote(f'{line.item}={left[line.item].amount:.6g} {line.unit}')}" if line.item in left
        else f"--drop {quote(line.item)}"
        for line in spec.lines
        if name_key(line.item) in found.items
    ]  # fmt: skip
    yield from _said(
        f"Next, A: stillroom draft {quote(spec.spec)} --version {spec.version} {' '.join(changes)} --write"
    )


def _said(text: str) -> list[str]:
    return wrapped(text, then="  ")
