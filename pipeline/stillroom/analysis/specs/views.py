"""What a spec book is made from."""

from __future__ import annotations

from typing import Final

VIEWS: Final = ("current_spec", "current_spec_line", "current_ingredient", "version_span", "line_aside", "known_item")
"""In the order in which a book takes them."""
