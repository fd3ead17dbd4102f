"""What changed from one version of a spec to the next, line by line, and what the panel scored beside it."""

from __future__ import annotations

from itertools import pairwise

import polars as pl

from stillroom.analysis.specs.book import SpecBook, SpecVersion

_CHANGES = {
    "spec": pl.String,
    "from_version": pl.Int64,
    "version": pl.Int64,
    "what": pl.String,
    "before": pl.String,
    "after": pl.String,
}


def line_changes(book: SpecBook) -> pl.DataFrame:
    """Every difference between a version and the one numbered before it.

    Returns:
        spec, from_version, version, what (an item, or 'makes', 'method', 'chilling', 'keeps', 'kept', 'price'), before,
        after (as written; null where there is none). A spec that goes in counts with its version.
    """
    rows = [
        (after.spec, before.version, after.version, what, old, new)
        for versions in book.versions.values()
        for before, after in pairwise(versions)
        for what, old, new in _differences(_described(book, before), _described(book, after))
    ]
    return pl.DataFrame(rows, schema=_CHANGES, orient="row")


def _differences(before: dict[str, str], after: dict[str, str]) -> list[tuple[str, str | None, str | None]]:
    names = dict.fromkeys([*after, *before])
    return [(name, before.get(name), after.get(name)) for name in names if before.get(name) != after.get(name)]


def _described(book: SpecBook, spec: SpecVersion) -> dict[str, str]:
    """Each line and each other fact of a version, as text."""
    amounts: dict[str, list[str]] = {}
    for line in spec.lines:
        inner = f" (version {book.version_on(line.item, book.day_of(spec)).version})" if book.is_spec(line.item) else ""
        amounts.setdefault(line.item, []).append(f"{line.amount:g} {line.unit}{inner}")
    said = {item: " + ".join(several) for item, several in amounts.items()}
    facts = {
        "makes": f"{spec.yield_amount:g} {spec.yield_base}",
        "method": spec.method,
        "chilling": None if spec.dilution_pct is None else f"{spec.dilution_pct:g} % water",
        "keeps": None if spec.keeps_days is None else f"{spec.keeps_days:g} days",
        "kept": spec.storage,
        "price": None if spec.price is None else f"{spec.price:.2f}",
    }
    return {**said, **{name: text for name, text in facts.items() if text is not None}}


def score_changes(scores: pl.DataFrame) -> pl.DataFrame:
    """Mean scores of a version and of the tasted version numbered before it, by tasters who had both in one session.

    Args:
        scores: the view `panel_scores`.

    Returns:
        spec, from_version, version, attribute, before, after (means of the tasters' own means), difference, tasters.
        Only attributes scored on one scale in both.
    """
    keys = ["session", "panelist", "spec", "attribute", "scale_low", "scale_high"]
    own = scores.group_by(*keys, "version").agg(pl.col("score").mean())
    tasted = own.select("spec", "version").unique().sort("spec", "version")
    pairs = tasted.with_columns(from_version=pl.col("version").shift(1).over("spec")).drop_nulls()
    earlier = own.rename({"version": "from_version", "score": "score_before"})
    return (
        own.join(pairs, on=["spec", "version"])
        .join(earlier, on=[*keys, "from_version"])
        .group_by("spec", "from_version", "version", "attribute")
        .agg(
            pl.col("score_before").mean().alias("before"),
            pl.col("score").mean().alias("after"),
            (pl.col("score") - pl.col("score_before")).mean().alias("difference"),
            pl.col("panelist").n_unique().cast(pl.Int64).alias("tasters"),
        )
        .sort("spec", "version", "attribute")
    )
