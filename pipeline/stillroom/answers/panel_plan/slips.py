"""Slips of the pen on a filled-in sheet: a score in the wrong column, a code mistyped, glasses swapped."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from stillroom.answers.panel_plan.drawing import SCALES

if TYPE_CHECKING:
    import polars as pl

PLACE: Final = "row_in_batch"


def typed_elsewhere(rows: pl.DataFrame) -> dict[int, str]:
    """Rows that look blank but hold what belongs in the blank cell, by their place in `rows`, and what is wrong.

    `rows`: text columns of a sheet. A score one column to the right stands where the scale's low end was printed, one
    to the left where the attribute was; an answer one to the left where the codes of the glasses were.
    """
    found: dict[int, str] = {}
    for place, row in enumerate(rows.iter_rows(named=True)):
        cells = {name: (cell or "").strip() for name, cell in row.items()}
        if cells.get("score") == "":
            found |= _stray_score(place, cells)
        elif cells.get("answer") == "" and not cells.get("correct") and not cells.get("chosen"):
            codes = cells.get("codes", "").split()
            if len(codes) == 1:
                found[place] = f"answer is empty and codes holds only {codes[0]}: was it typed a column to the left?"
    return found


def _stray_score(place: int, cells: dict[str, str]) -> dict[int, str]:
    scale = SCALES.get(cells.get("scale_kind", ""))
    low, high = cells.get("scale_low", ""), cells.get("scale_high", "")
    if scale and _number(high) == scale[1] and low != "" and _number(low) != scale[0]:
        return {place: f"score is empty and scale_low is {low}, not {scale[0]}: was it typed a column to the right?"}
    if _number(cells.get("attribute", "")) is not None:
        return {place: f"score is empty and attribute is {cells['attribute']}: was it typed a column to the left?"}
    return {}


def _number(text: str) -> float | None:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None


def against_the_key(rows: pl.DataFrame, key: pl.DataFrame) -> dict[int, str]:
    """Rows of scores whose code stands in another place than it was served in, or with another version; and what.

    `rows` and `key` with every cell trimmed and in small letters. A code that is not in the key is not looked at here.
    """
    import polars as pl

    glass = ("session", "panelist", "code")
    served = key.unique(list(glass), keep="first", maintain_order=True).select(
        *glass, *(pl.col(name).alias(f"served_{name}") for name in ("position", "replicate", "version"))
    )
    given = [name for name in ("position", "replicate", "version") if name in rows.columns]
    met = rows.with_row_index(PLACE).join(served, on=list(glass), how="inner")
    found: dict[int, str] = {}
    for row in met.iter_rows(named=True):
        for name in given:
            if row[name] != "" and row[f"served_{name}"] != "" and row[name] != row[f"served_{name}"]:
                found[row[PLACE]] = _contradiction(name, row)
                break
    if "position" not in given:
        found |= _twice(met)
    return found


def _contradiction(name: str, row: dict[str, str]) -> str:
    if name == "version":
        return f"code {row['code']} is version {row['served_version']}, says the key, not version {row['version']}"
    what, served = "glass" if name == "position" else "round", row[f"served_{name}"]
    whose = f"of panelist '{row['panelist']}'"
    return (
        f"code {row['code']} was {what} {served} {whose}, says the key, not {what} {row[name]}: a slip of the pen, or "
        "swapped glasses"
    )


def _twice(rows: pl.DataFrame) -> dict[int, str]:
    """Without positions only the same code twice gives a slip away, not which of the two it is."""
    import polars as pl

    scored = [name for name in ("session", "panelist", "code", "attribute") if name in rows.columns]
    if "attribute" not in scored:
        return {}
    doubles = rows.filter(pl.len().over(scored) > 1)
    return {
        row[PLACE]: f"code {row['code']} stands twice for panelist '{row['panelist']}': one of them is another glass"
        for row in doubles.iter_rows(named=True)
    }
