"""Every model against the limits of the data dictionary, at the limit and just beyond it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pandera.errors
import polars as pl
import pytest

from stillroom_schemas import TABLES
from stillroom_schemas.units import KNOWN, conversions

SCHEMAS = {table.name: table.schema() for table in TABLES}
DAY = date(2026, 3, 2)

GOOD: dict[str, dict[str, Any]] = {
    "spec": {
        "spec": "Fig Sour", "version": 1, "kind": "drink", "yield_amount": 1.0, "yield_unit": "serve",
        "keeps_days": 3.0, "making_minutes": 25.0, "storage": "fridge", "method": "shaken", "dilution_pct": 25.0,
        "price": 9.0, "in_service_from": DAY, "in_service_until": DAY, "note": "",
    },
    "spec_line": {"spec": "Fig Sour", "version": 1, "line": 1, "item": "gin", "amount": 50.0, "unit": "ml"},
    "ingredient": {
        "item": "gin", "pack_amount": 700.0, "pack_unit": "ml", "pack_cost": 21.0, "priced_on": DAY,
        "usable_pct": 100.0, "abv_pct": 40.0, "sugar_pct": 0.0, "sugar_low": 0.0, "sugar_high": 100.0,
        "acid_pct": 0.0, "acid_kind": "malic", "acid_low": 0.0, "acid_high": 100.0, "density_g_ml": 0.95,
        "allergens": "none", "known_as": "gin",
    },
    "sale": {
        "sold_at": datetime(2026, 3, 2, 20), "venue": "Bar", "till_item": "Fig Sour", "quantity": 1.0,
        "net_amount": 9.0, "check_id": "1", "line_id": "1",
    },
    "till_match": {"till_item": "FIG SR", "venue": "Bar", "spec": "Fig Sour", "serves": 1.0},
    "tasting": {
        "session": "s1", "tasted_on": DAY, "panelist": "P1", "spec": "Fig Sour", "version": 1, "attribute": "liking",
        "score": 7.0, "scale_low": 1.0, "scale_high": 9.0, "scale_kind": "liking", "position": 1, "code": "417",
        "replicate": 1, "comment": "dry", "looks": 1,
    },
    "trial": {
        "session": "s1", "tasted_on": DAY, "panelist": "P1", "method": "triangle", "spec": "Fig Sour", "version_a": 1,
        "version_b": 2, "correct": "yes", "chosen": None, "given": None,
    },
    "batch": {
        "batch": "FC-1", "preparation": "Fig Cordial", "version": 1, "made_on": DAY, "made_amount": 650.0,
        "made_unit": "ml", "use_by": DAY, "venue": "Bar", "storage": "fridge", "made_by": "A", "brix": 60.0, "ph": 3.0,
        "note": "",
    },
    "batch_event": {
        "batch": "FC-1", "happened_on": DAY, "event": "counted", "amount": 100.0, "unit": "ml", "reason": "",
        "preparation": "Fig Cordial",
    },
}  # fmt: skip

OPTIONAL = {
    "spec": {
        "keeps_days", "making_minutes", "storage", "method", "dilution_pct", "price", "in_service_from",
        "in_service_until", "note",
    },
    "spec_line": set(),
    "ingredient": {
        "pack_cost", "priced_on", "abv_pct", "sugar_pct", "sugar_low", "sugar_high", "acid_pct", "acid_kind",
        "acid_low", "acid_high", "density_g_ml", "allergens", "known_as",
    },
    "sale": {"venue", "check_id", "line_id"},
    "till_match": {"venue", "spec"},
    "tasting": {"position", "code", "replicate", "comment", "looks"},
    "trial": {"correct", "chosen", "given"},
    "batch": {"version", "use_by", "venue", "storage", "made_by", "brix", "ph", "note"},
    "batch_event": {"amount", "unit", "reason", "preparation"},
}  # fmt: skip
"""What the dictionary marks with '?' and no default takes the place of."""

DEFAULTS = {
    ("ingredient", "usable_pct"): 100.0,
    ("till_match", "serves"): 1.0,
    ("tasting", "scale_low"): 1.0,
    ("tasting", "scale_high"): 9.0,
    ("tasting", "scale_kind"): "intensity",
}

LIMITS: list[tuple[str, str, list[Any], list[Any]]] = [
    ("spec", "version", [1, 40], [0, -1]),
    ("spec", "kind", ["drink", "preparation", "garnish"], ["Drink", "food"]),
    ("spec", "yield_amount", [1e-6, 650.0], [0.0, -1.0]),
    ("spec", "yield_unit", list(KNOWN), ["glass"]),
    ("spec", "keeps_days", [0.5, 90.0], [0.0, -1.0]),
    ("spec", "storage", ["ambient", "fridge", "freezer"], ["shelf"]),
    ("spec", "price", [0.0, 12.5], [-0.01]),
    ("spec", "in_service_until", [DAY, DAY + timedelta(1)], [DAY - timedelta(1)]),
    ("spec_line", "version", [1], [0]),
    ("spec_line", "line", [1], [0]),
    ("spec_line", "amount", [1e-6], [0.0, -5.0]),
    ("spec_line", "unit", ["fl oz", "bar oz", "tsp", "tbsp", "barspoon", "dash", "drop", "each"], ["splash"]),
    ("ingredient", "pack_amount", [1e-6], [0.0]),
    ("ingredient", "pack_cost", [0.0], [-0.01]),
    ("ingredient", "usable_pct", [0.0, 100.0], [-0.1, 100.1]),
    ("ingredient", "abv_pct", [0.0, 100.0], [-0.1, 100.1]),
    ("ingredient", "sugar_pct", [0.0, 100.0], [-0.1, 100.1]),
    ("ingredient", "acid_pct", [0.0, 100.0], [-0.1, 100.1]),
    ("ingredient", "sugar_high", [0.0, 100.0], [-0.1, 100.1]),
    ("ingredient", "sugar_low", [0.0], [0.1, -0.1]),  # sugar_pct is 0
    ("ingredient", "acid_kind", ["citric", "malic", "tartaric", "lactic", "acetic", "phosphoric"], ["oxalic"]),
    ("ingredient", "acid_low", [0.0], [0.1, -0.1]),
    ("ingredient", "acid_high", [0.0, 100.0], [-0.1, 100.1]),
    ("spec", "making_minutes", [0.0, 45.0], [-1.0]),
    ("ingredient", "density_g_ml", [0.5, 2.5], [0.49, 2.51]),
    ("sale", "quantity", [1.0, 10_000.0, 0.5], [0.0, 10_001.0, -1.0]),  # -1 has another sign than the money
    ("sale", "net_amount", [0.0, 9.0], [-9.0]),
    ("till_match", "serves", [0.5, 4.0], [0.0, -1.0]),
    ("tasting", "version", [1], [0]),
    ("tasting", "score", [1.0, 9.0, 5.5], [0.9, 9.1]),
    ("tasting", "scale_high", [7.0, 10.0], [1.0, 0.5]),
    ("tasting", "scale_kind", ["intensity", "liking", "just-about-right"], ["hedonic"]),
    ("tasting", "position", [1], [0]),
    ("tasting", "replicate", [1], [0]),
    ("trial", "method", ["triangle", "2-AFC", "tetrad", "paired-difference"], ["guess"]),
    ("trial", "correct", ["yes", "no"], ["maybe", None]),
    ("trial", "version_b", [2, 3], [1, 0]),
    ("batch", "version", [1], [0]),
    ("batch", "made_amount", [1e-6], [0.0]),
    ("batch", "use_by", [DAY, DAY + timedelta(1)], [DAY - timedelta(1)]),
    ("batch", "brix", [0.0, 100.0], [-0.1, 100.1]),
    ("batch", "ph", [0.0, 14.0], [-0.1, 14.1]),
    ("batch_event", "event", ["used up", "poured away", "spoiled", "counted"], ["drunk"]),
    ("batch_event", "amount", [0.0, 5.0], [-1.0, None]),
    ("batch_event", "unit", ["ml"], [None, "splash"]),
]


def frame(table: str, **changed: Any) -> pl.DataFrame:
    schema = SCHEMAS[table]
    cells = {**GOOD[table], **changed}
    return pl.DataFrame({n: pl.Series([cells[n]], dtype=c.dtype.type) for n, c in schema.columns.items()})


def holds(table: str, **changed: Any) -> bool:
    try:
        SCHEMAS[table].validate(frame(table, **changed), lazy=True)
    except pandera.errors.SchemaErrors:
        return False
    return True


def test_the_tables_are_those_of_the_dictionary_in_their_order():
    wanted = ["spec", "spec_line", "ingredient", "till_match", "sale", "tasting", "trial", "batch", "batch_event"]
    assert [table.name for table in TABLES] == wanted


@pytest.mark.parametrize("table", GOOD)
def test_columns_and_what_may_be_empty(table):
    schema = SCHEMAS[table]
    assert set(schema.columns) == set(GOOD[table])
    assert {name for name, column in schema.columns.items() if column.nullable} == OPTIONAL[table]
    defaults = {(table, n): c.metadata["default"] for n, c in schema.columns.items() if c.metadata["default"]}
    assert defaults == {key: value for key, value in DEFAULTS.items() if key[0] == table}
    assert holds(table)


DEPENDENT = {("trial", "correct"), ("batch_event", "amount"), ("batch_event", "unit")}
"""Needed or not by what the row says elsewhere: in LIMITS and below."""


@pytest.mark.parametrize(("table", "column"), [(t, c) for t in GOOD for c in GOOD[t] if (t, c) not in DEPENDENT])
def test_an_empty_cell_is_refused_where_the_column_is_needed(table, column):
    assert holds(table, **{column: None}) == (column in OPTIONAL[table])


@pytest.mark.parametrize(("table", "column", "accepted", "refused"), LIMITS)
def test_limits(table, column, accepted, refused):
    for value in accepted:
        assert holds(table, **{column: value}), value
    for value in refused:
        assert not holds(table, **{column: value}), value


def test_a_void_has_its_money_negative_too():
    assert holds("sale", quantity=-1.0, net_amount=-9.0)
    assert holds("sale", quantity=-1.0, net_amount=0.0)
    assert holds("sale", quantity=-10_000.0, net_amount=-9.0)
    assert not holds("sale", quantity=-10_001.0, net_amount=-9.0)


def test_a_preference_is_answered_by_what_was_chosen():
    for chosen in ("a", "b", "none"):
        assert holds("trial", method="paired-preference", correct=None, chosen=chosen)
    assert not holds("trial", method="paired-preference", correct="yes", chosen=None)
    assert not holds("trial", method="paired-preference", correct=None, chosen="c")


def test_an_event_without_amount_needs_no_unit():
    assert holds("batch_event", event="spoiled", amount=None, unit=None)
    assert not holds("batch_event", event="counted", amount=None, unit=None)


# NIST Handbook 44, appendix C: 1 fl oz = 29.573 529 562 5 ml exactly (231 in³ / 128); 1 oz = 28.349 523 125 g.
# Imperial: Units of Measurement Regulations 1995: gallon 4.546 09 l exactly. Both from memory.
@pytest.mark.parametrize(
    ("unit", "base", "factor"),
    [
        ("ml", "ml", 1),
        ("cl", "ml", 10),
        ("l", "ml", 1000),
        ("fl oz", "ml", 231 * 2.54**3 / 128),
        ("tsp", "ml", 231 * 2.54**3 / 128 / 6),
        ("imp fl oz", "ml", 4546.09 / 160),
        ("imp pint", "ml", 4546.09 / 8),
        ("oz", "g", 453.59237 / 16),
        ("lb", "g", 453.59237),
        ("kg", "g", 1000),
        ("each", "each", 1),
        ("serve", "each", 1),
    ],
)
def test_units_are_those_of_the_handbooks(unit, base, factor):
    assert conversions()[unit] == (base, pytest.approx(factor, rel=1e-12))


def test_every_spelling_has_a_conversion():
    assert set(conversions()) == set(KNOWN)
    assert {base for base, _ in conversions().values()} == {"ml", "g", "each"}
