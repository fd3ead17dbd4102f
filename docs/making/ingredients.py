"""What is commonly in an ingredient, with the source of every figure."""

from __future__ import annotations

import csv

from docs.making.markdown import table

from stillroom import model


def ingredients() -> str:
    """The table of common ingredients."""
    rows = csv.DictReader((model.FOLDER / "known_items.csv").read_text(encoding="utf-8").splitlines())
    return table(
        ("item", "also", "sugar, %", "acid as citric, %", "alcohol, % vol", "g/ml", "allergens", "source"),
        (
            (
                row["item"],
                row["also"],
                *(_range(row, name) for name in ("sugar", "acid", "abv")),
                row["density_g_ml"],
                row["allergens"],
                row["source"],
            )
            for row in rows
        ),
    )


def _range(row: dict[str, str], name: str) -> str:
    value, low, high = (row[f"{name}_{end}"] for end in ("pct", "low", "high"))
    between = f" ({low or '?'} to {high or '?'})" if low or high else ""
    return f"{value}{between}"
