"""Columns that tables of several reports show: how each is called, so that one thing has one name everywhere."""

from __future__ import annotations

from typing import Final

from stillroom.objects import Column

COLUMNS: Final = {
    "attribute": Column(label="Attribute"),
    "batch": Column(label="Batch"),
    "batches": Column(label="Batches"),
    "careful": Column(label="Be careful of"),
    "day": Column(label="Day"),
    "drink": Column(label="Drink"),
    "item": Column(label="Ingredient"),
    "missing": Column(label="No price for"),
    "on_hand": Column(label="On hand", decimals=0),
    "p": Column(label="p", decimals=4, p_value=True),
    "panelists": Column(label="Panelists"),
    "preparation": Column(label="Preparation"),
    "scores": Column(label="Scores"),
    "serves": Column(label="Serves", decimals=0),
    "session": Column(label="Session"),
    "sessions": Column(label="Sessions"),
    "spec": Column(label="Spec"),
    "unit": Column(label="Unit"),
    "use_by": Column(label="Use by"),
    "venue": Column(label="Venue"),
    "verdict": Column(label="Verdict"),
    "version": Column(label="Version"),
    "versions": Column(label="Versions"),
}
"""By the name of the column. A table that means something else by one writes its own `Column`."""


def named(*names: str) -> dict[str, Column]:
    """These columns, in this order, to be shown in a table.

    >>> [column.label for column in named("venue", "item").values()]
    ['Venue', 'Ingredient']
    """
    return {name: COLUMNS[name] for name in names}
