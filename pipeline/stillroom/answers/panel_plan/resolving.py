"""Turns the codes of a filled-in sheet back into versions, by the key of the session."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.answers.panel_plan.drawing import A_NOT_A
from stillroom.answers.panel_plan.slips import PLACE, against_the_key

if TYPE_CHECKING:
    import polars as pl

PANEL_FOLDER: Final = "panels"
"""Where in the house sessions are written, and their sheets found."""
SAYS_A: Final = ("a", "yes", "y")
SAYS_NOT_A: Final = ("not a", "not", "no", "n", "not-a")
SHEET_ENDING: Final = "-sheet"
SHEET_KINDS: Final = ("csv", "xlsx")
KEY_ENDING: Final = "-key.csv"
KEY_FOLDER: Final = "keys"
_NUMBER: Final = PLACE


def key_beside(sheet: Path) -> Path | None:
    """The key of a session's sheet: in the folder `keys` beside it, or right beside it; None where there is none."""
    if not sheet.stem.casefold().endswith(SHEET_ENDING):
        return None
    name = sheet.stem[: -len(SHEET_ENDING)] + KEY_ENDING
    return next((path for path in (sheet.parent / KEY_FOLDER / name, sheet.parent / name) if path.is_file()), None)


def its_key(path: Path) -> tuple[Path, ...]:
    """The key that a sheet is read with, where there is one."""
    key = key_beside(path)
    return () if key is None else (key,)


def resolve_codes(rows: pl.DataFrame, key: pl.DataFrame) -> tuple[pl.DataFrame, dict[int, str]]:
    """Fill spec and version of scored samples from the key.

    `rows`: text columns of a sheet, with the data dictionary's headings; `key`: text columns as the plan writes them.
    Rows that name their version already, or have no code, stay as they are.

    Returns:
        All rows, and for each row whose code is not in the key, or stands in another place or with another version
        than the key has it (by its place in `rows`), what is wrong with it.
    """
    import polars as pl

    if not {"session", "panelist", "code"} <= set(rows.columns):
        return rows, {}
    rows = _with_columns(rows, ("spec", "version"))
    folded, folded_key = _folded(rows), _folded(key)
    asked = folded.with_row_index(_NUMBER)
    asked = asked.filter((pl.col("code") != "") & ((pl.col("spec") == "") | (pl.col("version") == "")))
    known = folded_key.unique(["session", "panelist", "code"], keep="first", maintain_order=True)
    found = asked.select(_NUMBER, "session", "panelist", "code").join(
        known.select("session", "panelist", "code", key_spec="written_spec", key_version="version"),
        on=["session", "panelist", "code"],
        how="left",
    )
    lost = found.filter(pl.col("key_version").is_null())
    problems = {
        int(row[_NUMBER]): _why_lost(row["session"], row["panelist"], row["code"], known)
        for row in lost.iter_rows(named=True)
    }
    filled = _filled(rows, found.rename({"key_spec": "spec", "key_version": "version"}), ("spec", "version"))
    return filled, problems | against_the_key(folded, folded_key)


def resolve_answers(rows: pl.DataFrame, key: pl.DataFrame) -> tuple[pl.DataFrame, dict[int, str]]:
    """Fill spec, versions and correct (or chosen) of a difference or preference test from the codes in `answer`.

    `answer` holds the code chosen, two for two-out-of-five, or 'none' for no preference. Version a is the lower one.
    Rows without an answer, or with correct or chosen filled in already, stay as they are.

    Returns:
        All rows, and for each row whose answer cannot be read (by its place in `rows`) what is wrong with it.
    """
    import polars as pl

    if not {"session", "panelist", "answer"} <= set(rows.columns):
        return rows, {}
    columns = ("spec", "version_a", "version_b", "correct", "chosen", "given")
    rows = _with_columns(rows, (*columns, "replicate"))
    known = _folded(_with_columns(key, ("replicate",)))
    rounds = known.partition_by("session", "panelist", "replicate", as_dict=True)
    on_trial = {
        session: tuple(sorted(set(of["version"]), key=int))
        for (session,), of in known.partition_by("session", as_dict=True).items()
    }
    problems: dict[int, str] = {}
    found = []
    for place, row in enumerate(_folded(rows).iter_rows(named=True)):
        if row["answer"] == "" or row["correct"] or row["chosen"]:
            continue
        glasses = rounds.get((row["session"], row["panelist"], row["replicate"] or "1"))
        if glasses is None:
            problems[place] = f"panelist '{row['panelist']}' has no such round in the key of session '{row['session']}'"
            continue
        read = _read_answer(row["answer"], glasses, on_trial[row["session"]])
        if isinstance(read, str):
            problems[place] = read
        else:
            found.append({_NUMBER: place, **read})
    schema = {_NUMBER: pl.UInt32, **dict.fromkeys(columns, pl.String)}
    return _filled(rows, pl.DataFrame(found, schema=schema), columns), problems


def _read_answer(answer: str, glasses: pl.DataFrame, versions: tuple[str, ...]) -> Mapping[str, str | None] | str:
    """The cells that an answer fills, or what is wrong with it; `versions`: of the session, the lower first."""
    import polars as pl

    spec = glasses["written_spec"][0]
    cells: dict[str, str | None] = {"spec": spec, "version_a": versions[0], "version_b": versions[-1]}
    samples = glasses.filter(pl.col("part") != "reference")
    if glasses["method"][0] == A_NOT_A.casefold():
        return _read_a_not_a(answer, glasses["version"].to_list(), cells)
    version_of = dict(samples.select("code", "version").rows())
    right = set(samples.filter(pl.col("right") == "yes")["code"].to_list())
    if not right and answer in ("none", "no", "-", "="):
        return cells | {"chosen": "none"}
    codes = answer.replace(",", " ").replace(";", " ").replace("/", " ").split()
    unknown = [code for code in codes if code not in version_of]
    if unknown:
        return f"code {unknown[0]} is not in the key for this panelist"
    if len(set(codes)) != max(len(right), 1):
        return f"{len(set(codes))} codes are named where the test asks for {max(len(right), 1)}"
    if not right:
        return cells | {"chosen": "a" if version_of[codes[0]] == versions[0] else "b"}
    # Of two pairs either will do: a tetrad is right where the codes named are of one version.
    other_pair = glasses["method"][0] == "tetrad" and set(version_of) - set(codes) == right
    return cells | {"correct": "yes" if set(codes) == right or other_pair else "no"}


def _read_a_not_a(answer: str, served: list[str], cells: dict[str, str | None]) -> Mapping[str, str | None] | str:
    """`served`: versions of the reference and of the glass."""
    reference, glass = served
    if answer not in (*SAYS_A, *SAYS_NOT_A):
        return f"the answer '{answer}' is neither 'A' nor 'not A'"
    right = (answer in SAYS_A) == (glass == reference)
    return cells | {"given": "a" if glass == cells["version_a"] else "b", "correct": "yes" if right else "no"}


def _why_lost(session: str, panelist: str, code: str, key: pl.DataFrame) -> str:
    import polars as pl

    of_session = key.filter(pl.col("session") == session)
    if of_session.is_empty():
        return f"session '{session}' is not in the key"
    if panelist not in of_session["panelist"].to_list():
        return f"panelist '{panelist}' is not in the key of session '{session}'"
    if code in of_session["code"].to_list():
        return f"code {code} was not served to panelist '{panelist}', says the key of session '{session}'"
    return f"code {code} is not in the key of session '{session}'"


def _with_columns(rows: pl.DataFrame, names: tuple[str, ...]) -> pl.DataFrame:
    import polars as pl

    return rows.with_columns(pl.lit(None, pl.String).alias(name) for name in names if name not in rows.columns)


def _folded(rows: pl.DataFrame) -> pl.DataFrame:
    """Every cell trimmed and in small letters, empty for null; `written_spec` keeps the spelling.

    Spreadsheets like to write a code 417 as 417.0.
    """
    import polars as pl

    text = pl.all().fill_null("").str.strip_chars().str.replace_all(r"\s+", " ")
    rows = rows.with_columns(text)
    written = pl.col("spec").alias("written_spec") if "spec" in rows.columns else pl.lit("").alias("written_spec")
    return rows.with_columns(written).with_columns(
        pl.all().exclude("written_spec").str.to_lowercase().str.replace(r"^(\d+)\.0+$", "${1}")
    )


def _filled(rows: pl.DataFrame, found: pl.DataFrame, columns: tuple[str, ...]) -> pl.DataFrame:
    """The rows with what was found in the place of empty cells."""
    import polars as pl

    renamed = found.select(_NUMBER, *(pl.col(name).alias(f"found_{name}") for name in columns))
    joined = rows.with_row_index(_NUMBER).join(renamed, on=_NUMBER, how="left", maintain_order="left")
    empty = {name: pl.col(name).fill_null("").str.strip_chars() == "" for name in columns}
    return joined.with_columns(
        pl.when(empty[name]).then(pl.coalesce(f"found_{name}", name)).otherwise(name).alias(name) for name in columns
    ).select(rows.columns)
