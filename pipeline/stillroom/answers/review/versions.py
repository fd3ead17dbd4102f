"""Versions of a spec side by side: its lines, what is in the glass, what it costs, how it is liked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.sheet_objects import VersionsTable

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.specs.book import SpecVersion
    from stillroom.analysis.specs.sheet import SpecSheet
    from stillroom.answers.review.sheets import Bench

MOST: Final = 4
"""Versions set side by side: the last ones."""
NONE: Final = "–"


def side_by_side(bench: Bench, several: Sequence[SpecVersion]) -> VersionsTable:
    """The last versions of a spec, the lines that changed from the one before marked."""
    shown = several[-MOST:]
    sheets = [bench.spec_sheet(spec) for spec in shown]
    currency = bench.house.currency
    rows = [*_lines(shown), *_facts(shown), *_glass(sheets), *_cost(sheets, currency), *_liking(bench, shown)]
    return VersionsTable(
        versions=tuple(_heading(spec, bench) for spec in shown),
        rows=tuple((what, cells, len(set(cells)) > 1) for what, cells in rows if set(cells) != {NONE}),
    )


def amount(value: float, unit: str) -> str:
    """An amount as the spec writes it.

    >>> amount(45.0, "ml"), amount(1.0, "each"), amount(2.0, "dash")
    ('45 ml', '1', '2 dash')
    """
    return f"{value:g}" if unit == "each" else f"{value:g} {unit}"


def _heading(spec: SpecVersion, bench: Bench) -> str:
    book = bench.composition.book
    now = book.in_service(spec.spec).version
    if now == spec.version:
        return f"version {spec.version}, in service"
    trial = spec.version > now and not book.spans.service(spec.spec, spec.version)
    return f"version {spec.version}{', trial' if trial else ''}"


def _lines(shown: Sequence[SpecVersion]) -> list[tuple[str, tuple[str, ...]]]:
    texts = []
    for spec in shown:
        own: dict[str, list[str]] = {}
        for line in spec.lines:
            own.setdefault(line.item, []).append(amount(line.amount, line.unit))
        texts.append({item: " + ".join(amounts) for item, amounts in own.items()})
    items = dict.fromkeys(item for text in reversed(texts) for item in text)
    return [(item, tuple(text.get(item, NONE) for text in texts)) for item in items]


def _facts(shown: Sequence[SpecVersion]) -> list[tuple[str, tuple[str, ...]]]:
    rows = [("method", tuple(spec.method or NONE for spec in shown))]
    if shown[-1].kind != "drink":
        rows.append(("makes", tuple(amount(spec.yield_amount, spec.yield_base) for spec in shown)))
        rows.append(("keeps", tuple(f"{spec.keeps_days:g} days" if spec.keeps_days else NONE for spec in shown)))
    return rows


def _glass(sheets: Sequence[SpecSheet]) -> list[tuple[str, tuple[str, ...]]]:
    figures = [sheet.served for sheet in sheets]
    return [
        ("strength, % vol", tuple(_number(one.abv_pct, 1) for one in figures)),
        ("sugar, g in 100 ml", tuple(_number(one.sugar_g_100ml, 1) for one in figures)),
        ("acid, g in 100 ml", tuple(_number(one.acid_g_100ml, 2) for one in figures)),
    ]


def _cost(sheets: Sequence[SpecSheet], currency: str) -> list[tuple[str, tuple[str, ...]]]:
    drink = sheets[-1].spec.kind == "drink"
    costs = tuple(f"at least {one.cost.known:.2f}" if one.cost.missing else f"{one.cost.known:.2f}" for one in sheets)
    rows = [(f"cost of a {'serve' if drink else 'making'}, {currency}", costs)]
    if drink:
        prices = (one.spec.price for one in sheets)
        rows.append((f"price, {currency}", tuple(NONE if price is None else f"{price:.2f}" for price in prices)))
    return rows


def _liking(bench: Bench, shown: Sequence[SpecVersion]) -> list[tuple[str, tuple[str, ...]]]:
    """Mean liking with its 95 % interval, as the panel report has it."""
    import polars as pl

    from stillroom.analysis.panel.attributes import is_liking
    from stillroom.analysis.panel.verdicts import compare_versions

    scores = bench.frames["panel_scores"].filter(is_liking(), pl.col("tasted_on") <= bench.season.period.last)
    own = scores.filter(pl.col("spec") == shown[-1].spec)
    if own.is_empty():
        return [("liking (95 %; tasters)", (NONE,) * len(shown))]
    means = compare_versions(scores).means.filter(pl.col("spec") == shown[-1].spec).sort("scores")
    return [("liking (95 %; tasters)", tuple(_mean(means, own, spec.version) for spec in shown))]


def _mean(means: pl.DataFrame, scores: pl.DataFrame, version: int) -> str:
    """Of a version; of sittings that cannot be joined, those with the most scores."""
    import polars as pl

    found = means.filter(pl.col("version") == version)
    if found.is_empty():
        return NONE
    row = found.row(-1, named=True)
    people = scores.filter(pl.col("version") == version)["panelist"].n_unique()
    ends = "" if row["low"] is None else f"{row['low']:.1f} to {row['high']:.1f}; "
    mean = row["raw_mean"] if row["mean"] is None else row["mean"]
    return f"{mean:.1f} ({ends}{people})"


def _number(value: float | None, places: int) -> str:
    return NONE if value is None else f"{value:.{places}f}"
