"""Every row of the demo holds against the models and the other tables, but for the listed ones."""

from __future__ import annotations

from graphlib import TopologicalSorter

import pandera.errors
import polars as pl
import pytest

from stillroom.demo import truths
from stillroom_schemas import TABLES

Texts = dict[str, tuple[str, pl.DataFrame]]
TABLE = {table.name: table for table in TABLES}


def _typed(table: str, rows: pl.DataFrame) -> pl.DataFrame:
    """Cast text to the model's types; an empty cell becomes what the model says it means."""
    schema = TABLE[table].schema()
    casts = []
    for name, column in schema.columns.items():
        kind = column.dtype.type
        text = pl.col(name) if name in rows.columns else pl.lit(None, pl.String).alias(name)
        if kind == pl.Date:
            cast = text.str.to_date("%Y-%m-%d", strict=False)
        elif kind == pl.Datetime:
            cast = text.str.to_datetime("%Y-%m-%d %H:%M:%S", strict=False, time_unit=kind.time_unit)
        else:
            cast = text.cast(kind, strict=False)
        default = (column.metadata or {}).get("default")
        if default is not None:
            cast = pl.when(text.is_null()).then(pl.lit(default)).otherwise(cast)
        casts.append(cast.cast(kind).alias(name))
    return rows.select("row_number", *casts)


def _faults(table: str, rows: pl.DataFrame) -> set[tuple[int, str]]:
    """(row number, column) of every cell that is not readable or breaks the model."""
    typed = _typed(table, rows)
    faults = {
        (number, name)
        for name in typed.columns
        if name in rows.columns
        for number in typed.filter(pl.col(name).is_null() & rows[name].is_not_null())["row_number"]
    }
    try:
        TABLE[table].schema().validate(typed.drop("row_number"), lazy=True)
    except pandera.errors.SchemaErrors as errors:
        for case in errors.failure_cases.iter_rows(named=True):
            assert case["index"] is not None, case
            # a check over a whole row names its column before the bar
            column = case["check"].split("|")[0] if "|" in str(case["check"]) else case["column"]
            faults.add((rows["row_number"][case["index"]], column))
    return faults


def test_precisely_the_listed_rows_break_the_models(demo_texts: Texts) -> None:
    found = {(name, *fault) for name, (table, rows) in demo_texts.items() for fault in _faults(table, rows)}
    assert found == {(bad.file, bad.row_number, bad.column) for bad in truths.BAD_ROWS if not bad.across}


def test_bad_rows_are_counted_by_folder() -> None:
    assert sum(truths.N_BAD_ROWS.values()) == len(truths.BAD_ROWS)
    assert len({(bad.file, bad.row_number) for bad in truths.BAD_ROWS}) == len(truths.BAD_ROWS)


@pytest.fixture(scope="module")
def good(demo_texts: Texts) -> dict[str, pl.DataFrame]:
    """Table -> its rows without those that break the model, typed."""
    bad = {(row.file, row.row_number) for row in truths.BAD_ROWS if not row.across}
    frames: dict[str, list[pl.DataFrame]] = {}
    for name, (table, rows) in demo_texts.items():
        typed = _typed(table, rows).with_columns(pl.lit(name).alias("file"))
        kept = [(name, number) not in bad for number in typed["row_number"]]
        frames.setdefault(table, []).append(typed.filter(pl.Series(kept)))
    return {table: pl.concat(parts) for table, parts in frames.items()}


@pytest.mark.parametrize("table", [table for table in TABLES if table.key], ids=lambda table: table.name)
def test_keys_are_unique_in_each_file(good: dict[str, pl.DataFrame], table) -> None:  # type: ignore[no-untyped-def]
    keys = [key for key in table.key if key in good[table.name].columns]
    frame = good[table.name]
    assert frame.select("file", *keys).is_unique().all()


def test_every_item_of_a_spec_is_a_spec_or_is_bought(good: dict[str, pl.DataFrame]) -> None:
    known = set(good["spec"]["spec"]) | set(good["ingredient"]["item"])
    assert set(good["spec_line"]["item"]) <= known
    assert not set(good["spec"]["spec"]) & set(good["ingredient"]["item"])
    assert good["spec_line"].join(good["spec"], on=["spec", "version"], how="anti").is_empty()
    assert good["spec"].join(good["spec_line"], on=["spec", "version"], how="anti").is_empty()


def test_specs_go_in_no_circle_and_nest_three_deep(good: dict[str, pl.DataFrame]) -> None:
    specs = set(good["spec"]["spec"])
    parts: dict[str, set[str]] = {spec: set() for spec in specs}
    for spec, item in good["spec_line"].select("spec", "item").iter_rows():
        if item in specs:
            parts[spec].add(item)
    depth: dict[str, int] = {}
    for spec in TopologicalSorter(parts).static_order():  # raises CycleError on a circle
        depth[spec] = max((depth[part] + 1 for part in parts[spec]), default=0)
    assert depth["Foghorn Sunday"] == 3


def test_versions_of_a_spec_are_not_in_service_together(good: dict[str, pl.DataFrame]) -> None:
    spans = good["spec"].filter(pl.col("in_service_from").is_not_null()).sort("spec", "version")
    later = spans.with_columns(pl.col("in_service_from").shift(-1).over("spec").alias("next"))
    assert later.filter(pl.col("next").is_not_null() & ~(pl.col("in_service_until") < pl.col("next"))).is_empty()
    assert later.filter(pl.col("next").is_not_null() & pl.col("in_service_until").is_null()).is_empty()


def test_events_belong_to_a_batch_and_come_after_it_but_for_the_listed_ones(good: dict[str, pl.DataFrame]) -> None:
    events = good["batch_event"].join(good["batch"].select("batch", "made_on"), on="batch", how="left")
    wrong = events.filter(pl.col("made_on").is_null() | (pl.col("happened_on") < pl.col("made_on")))
    assert set(wrong["row_number"]) == {bad.row_number for bad in truths.BAD_ROWS if bad.across}


def test_batches_are_of_preparations_and_of_a_version_in_service(good: dict[str, pl.DataFrame]) -> None:
    specs = good["spec"].filter(pl.col("kind") != "drink")
    made = good["batch"].join(specs, left_on="preparation", right_on="spec", how="left", suffix="_spec")
    serving = made.filter(
        (pl.col("in_service_from") <= pl.col("made_on"))
        & (pl.col("in_service_until").fill_null(pl.date(9999, 1, 1)) >= pl.col("made_on"))
    )
    assert serving.height == good["batch"].height
    assert serving.filter(pl.col("version") != pl.col("version_spec")).is_empty()
    assert serving.filter((pl.col("use_by") - pl.col("made_on")).dt.total_days() != pl.col("keeps_days")).is_empty()


def test_every_till_name_is_matched_but_for_the_known_ones(good: dict[str, pl.DataFrame]) -> None:
    assert set(good["sale"]["till_item"]) - set(good["till_match"]["till_item"]) == set(truths.UNMATCHED)
    assert set(good["till_match"]["spec"].drop_nulls()) <= set(good["spec"]["spec"])


def test_every_void_has_its_sale(good: dict[str, pl.DataFrame]) -> None:
    voids = good["sale"].filter(pl.col("quantity") < 0)
    assert voids.height > 10
    sold = good["sale"].filter(pl.col("quantity") > 0)
    sales = sold.select("file", "check_id", "till_item", quantity=-pl.col("quantity"), net_amount=-pl.col("net_amount"))
    keys = ["file", "check_id", "till_item", "quantity", "net_amount"]
    assert voids.join(sales, on=keys, how="anti").height <= 1  # one may be among the bad rows
