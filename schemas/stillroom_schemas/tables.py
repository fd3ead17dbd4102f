"""The tables of the store: the model of each, its key, and what a newer file replaces.

Models are named and not imported: pandera takes longer to import than most commands take to answer, and only an intake
needs it.
"""

from __future__ import annotations

from typing import Final

from stillroom_schemas.table import Export, Reference, Table

SPEC = Table(
    name="spec",
    title="a version of a drink, preparation or garnish",
    model="stillroom_schemas.spec:Spec",
    key=("spec", "version"),
    ground=("spec", "version"),
    kept=True,
)

SPEC_LINE = Table(
    name="spec_line",
    title="a line of a spec: what goes into one making",
    model="stillroom_schemas.spec_line:SpecLine",
    key=("spec", "version", "line"),
    ground=("spec", "version"),
    kept=True,
    references=(
        Reference(
            columns=("spec", "version"),
            table="spec",
            table_columns=("spec", "version"),
            missing="there is no spec {value}: take in the spec itself, or correct the name or version",
        ),
    ),
)

INGREDIENT = Table(
    name="ingredient",
    title="an ingredient: pack, price, what is in it",
    model="stillroom_schemas.ingredient:Ingredient",
    key=("item", "priced_on"),
    ground=("item", "priced_on"),
    kept=True,
)

TILL_MATCH = Table(
    name="till_match",
    title="a till spelling and the drink it stands for",
    model="stillroom_schemas.till_match:TillMatch",
    key=("till_item", "venue"),
    ground=("till_item", "venue"),
    kept=True,
)

SALE = Table(
    name="sale",
    title="a till line",
    model="stillroom_schemas.sale:Sale",
    key=("venue", "line_id"),
    key_when="line_id",
    export=Export(
        at="sold_at",
        venue="venue",
        identity="line_id",
        alike=("sold_at", "till_item", "quantity", "net_amount", "check_id"),
    ),
    needs_venue=True,
    fills_venue=True,
)

TASTING = Table(
    name="tasting",
    title="a score: one panelist, one sample, one attribute",
    model="stillroom_schemas.tasting:Tasting",
    key=("session", "panelist", "spec", "version", "attribute", "replicate"),
    ground=("session",),
    kept=True,
)

TRIAL = Table(
    name="trial",
    title="an answer in a difference or preference test",
    model="stillroom_schemas.trial:Trial",
    ground=("session",),
    kept=True,
)

BATCH = Table(
    name="batch",
    title="a batch: one making of a preparation",
    model="stillroom_schemas.batch:Batch",
    key=("batch",),
    ground=("batch",),
    kept=True,
    fills_venue=True,
)

BATCH_EVENT = Table(
    name="batch_event",
    title="what became of a batch",
    model="stillroom_schemas.batch_event:BatchEvent",
    ground=("batch", "happened_on"),
    kept=True,
    references=(
        Reference(
            columns=("batch",),
            table="batch",
            table_columns=("batch",),
            missing="there is no batch {value}: take in the batch itself, or correct the label",
            not_before=("happened_on", "made_on"),
        ),
    ),
)

TABLES: Final = (SPEC, SPEC_LINE, INGREDIENT, TILL_MATCH, SALE, TASTING, TRIAL, BATCH, BATCH_EVENT)
"""In the order in which they are taken in: what is referred to comes first."""
