"""The tables of the store: one pandera model each, and nowhere else are columns, types or limits written."""

from __future__ import annotations

from typing import Final

from stillroom_schemas.batch import BATCH
from stillroom_schemas.batch_event import BATCH_EVENT
from stillroom_schemas.ingredient import INGREDIENT
from stillroom_schemas.sale import SALE
from stillroom_schemas.spec import SPEC
from stillroom_schemas.spec_line import SPEC_LINE
from stillroom_schemas.table import Reference, Table
from stillroom_schemas.tasting import TASTING
from stillroom_schemas.till_match import TILL_MATCH
from stillroom_schemas.trial import TRIAL

TABLES: Final = (SPEC, SPEC_LINE, INGREDIENT, TILL_MATCH, SALE, TASTING, TRIAL, BATCH, BATCH_EVENT)
"""In the order in which they are taken in: what is referred to comes first."""

__all__ = ["TABLES", "Reference", "Table"]
