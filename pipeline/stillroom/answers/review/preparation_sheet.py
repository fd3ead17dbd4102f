"""The sheet of a preparation or garnish."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from stillroom.answers.review import sheets, versions
from stillroom.answers.review.sheet_objects import BatchMark, Course, Note, Sheet, SizeRow
from stillroom.words import amount, short_day

if TYPE_CHECKING:
    import polars as pl

    from stillroom.analysis.specs.book import SpecVersion
    from stillroom.analysis.specs.sheet import SpecSheet
    from stillroom.answers.review.sheets import Bench


def sheet(bench: Bench, spec: SpecVersion, several: Sequence[SpecVersion]) -> Sheet:
    """All that is known of a preparation."""
    own = bench.spec_sheet(spec)
    batches = _batches(bench, spec.spec)
    within = [one for one in batches if one.made_on >= bench.season.period.first]
    facts = [*sheets.facts(spec, own), _cost(own, bench.house.currency)]
    return Sheet(
        name=spec.spec,
        kind=spec.kind,
        aliases=(),
        says=sheets.says(bench, spec.spec),
        facts=tuple(facts),
        allergens=own.allergens,
        careful=sheets.careful(bench, spec),
        notes=_notes(bench, spec, own, within),
        course=_course(bench, spec, several, batches, own),
        parts=sheets.parts(own, bench.house.currency),
        users=sheets.users(bench, spec),
        versions=versions.side_by_side(bench, several),
        batches=tuple(reversed(batches)),
        source=sheets.origin(bench.frames["current_spec"], "spec", spec.spec),
        sizes=_sizes(bench, spec.spec),
    )


def _sizes(bench: Bench, name: str) -> tuple[SizeRow, ...]:
    """How much to make at a time, by the prep list's plan."""
    if bench.prep is None:
        return ()
    several = len({line.venue for line in bench.prep.lines}) > 1
    return tuple(
        SizeRow(
            made_on=bench.prep.day,
            size=one.size,
            unit=line.unit,
            chance_lost=one.chance_lost,
            lost=one.lost,
            chance_short=one.chance_short,
            now=one.now,
            advised=one.advised,
            venue=line.venue if several else "",
        )
        for line in bench.prep.lines
        if line.preparation == name
        for one in line.sizes
    )


def _cost(own: SpecSheet, currency: str) -> str:
    cost, makes, unit = own.cost, own.makes, own.makes_unit
    size, word = (1000.0, "a litre") if unit == "ml" else (1000.0, "a kilogram") if unit == "g" else (1.0, "apiece")
    least = "at least " if cost.missing else ""
    return f"{least}{currency} {cost.known / makes * size:.2f} {word}" if makes else "cost not known"


def _batches(bench: Bench, name: str) -> list[BatchMark]:
    """Its batches up to the last day looked at, oldest first."""
    import polars as pl

    book = bench.frames["current_batch"].select("batch", "brix", "ph", "file", "row_number")
    fate = bench.frames["batch_fate"].filter(
        pl.col("preparation") == name, pl.col("made_on") <= bench.season.period.last
    )
    rows = fate.join(book, on="batch", how="left").sort("made_on", "batch")
    return [_batch(row) for row in rows.iter_rows(named=True)]


def _batch(row: dict[str, Any]) -> BatchMark:
    gone = row["ended_on"] or (row["use_by"] if row["on_hand"] <= 0 else None)
    return BatchMark(
        batch=row["batch"],
        made_on=row["made_on"],
        made=row["made"],
        used=row["used"],
        lost=row["poured_away"] + row["spoiled"] + row["left_at_use_by"],
        on_hand=row["on_hand"],
        unit=row["unit"],
        use_by=row["use_by"],
        gone_on=gone,
        brix=row["brix"],
        ph=row["ph"],
        source=f"{row['file']}, row {row['row_number']}",
    )


def _notes(bench: Bench, spec: SpecVersion, own: SpecSheet, batches: list[BatchMark]) -> tuple[Note, ...]:
    import polars as pl

    unit = batches[-1].unit if batches else spec.yield_base
    made, lost = sum(one.made for one in batches), sum(one.lost for one in batches)
    gone = made - sum(one.on_hand for one in batches)
    period = bench.season.period
    fate = bench.frames["batch_fate"].filter(
        pl.col("preparation") == spec.spec, pl.col("made_on").is_between(period.first, period.last)
    )
    money = fate["cost_lost"].drop_nulls()
    used = bench.frames["preparation_use"].filter(
        pl.col("preparation") == spec.spec, pl.col("business_date").is_between(period.first, bench.season.upto)
    )
    days = (bench.season.upto - period.first).days + 1
    last = batches[-1] if batches else None
    return (
        Note(
            label="Poured away or spoiled",
            value=_money(float(money.sum())) if len(money) else _amount(lost, unit),
            unit=bench.house.currency if len(money) else "",
            small=f"{_amount(lost, unit)} of {_amount(made, unit)}"
            + (f", {100 * lost / gone:.0f} %" if gone > 0 else ""),
            is_loss=lost > 0,
        ),
        Note(label="Used", value=_amount(float(used["amount"].sum()) / days, unit), unit="a day"),
        Note(
            label="Made at a time",
            value=_amount(float(fate["made"].median() or 0.0), unit) if fate.height else "–",  # type: ignore[arg-type]
            small=f"{len(batches)} batch{'es' if len(batches) != 1 else ''}; the spec makes "
            f"{_amount(own.makes, own.makes_unit)}",
        ),
        Note(
            label="On hand",
            value=_amount(sum(one.on_hand for one in batches), unit),
            small=f"{last.batch}, use by {short_day(last.use_by)}" if last and last.use_by and last.on_hand else "",
        ),
    )


def _money(value: float) -> str:
    return f"{value:.0f}" if value >= 10 or value == 0 else f"{value:.2f}"


def _amount(value: float, unit: str) -> str:
    if unit == "each":
        return amount(value, unit)
    if value >= 1000:
        return f"{value / 1000:.1f} {'l' if unit == 'ml' else 'kg'}"
    return f"{value:.0f} {unit}"


def _course(
    bench: Bench, spec: SpecVersion, several: Sequence[SpecVersion], batches: list[BatchMark], own: SpecSheet
) -> Course | None:
    import polars as pl

    from stillroom.analysis.batches.stock_course import stock_course

    first, last = bench.season.period.first, bench.season.upto
    shown = [one for one in batches if (one.gone_on or last) >= first]
    if not shown:
        return None
    fate = bench.frames["batch_fate"].filter(pl.col("preparation") == spec.spec)
    use: pl.DataFrame = bench.frames["preparation_use"].filter(pl.col("preparation") == spec.spec)
    return Course(
        first=first,
        last=last,
        unit=shown[-1].unit,
        label="On hand, day by day" + (", pieces" if shown[-1].unit == "each" else ""),
        line=tuple(stock_course(fate, use, first, last)),
        marks=sheets.marks(several, first, last, bench.house.currency),
        batches=tuple(shown),
        targets=(("°Brix", own.served.brix),) if own.served.brix is not None else (),
    )
