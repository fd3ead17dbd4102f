"""The tables of the store: one pandera model each, and nowhere else are columns, types or limits written."""

from __future__ import annotations

import sys

from stillroom_schemas.table import Reference, Table
from stillroom_schemas.tables import TABLES

__all__ = ["TABLES", "Reference", "Table"]

# Where Spark is installed pandera loads pandas on Spark with it: a second, and a warning, for what nothing here uses.
# `polars_alone` keeps that off itself; this is for a stranger's plugin that imports pandera before any model of ours.
sys.modules.setdefault("pyspark.pandas", None)  # type: ignore[arg-type]
