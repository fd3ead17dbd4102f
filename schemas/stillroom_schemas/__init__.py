"""The tables of the store: one pandera model each, and nowhere else are columns, types or limits written."""

from __future__ import annotations

from stillroom_schemas.table import Reference, Table
from stillroom_schemas.tables import TABLES

__all__ = ["TABLES", "Reference", "Table"]
