"""Views that several reports read."""

from __future__ import annotations

from typing import Final

from stillroom.analysis.specs.views import VIEWS

NEEDS: Final = (*VIEWS, "current_batch", "batch_fate")
"""The spec book, and what its batches tell of it: the balance and the cost report."""
