"""The balance report's sentences."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from stillroom.analysis.specs.book import SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.figures import more_than_goes_in
from stillroom.answers.advice import Advice
from stillroom.answers.not_whole import LINES
from stillroom.objects import Finding, Period
from stillroom.words import counted, day_text, listed

MATTERS = {"sugar_g_100ml": 0.3, "acid_g_100ml": 0.05, "abv_pct": 0.5}
"""A change smaller than this is not worth a clause (g/100 ml, g/100 ml, % vol): within what a jigger repeats."""

MOST_REASONS = 5


def findings(
    composition: Composition,
    current: list[SpecVersion],
    figures: pl.DataFrame,
    changes: pl.DataFrame,
    scores: pl.DataFrame,
    advice: Mapping[tuple[str, int], tuple[Advice, ...]],
    period: Period,
) -> tuple[Finding, ...]:
    """What to act on first, then what the menu is like, then what cannot be told."""
    return (
        *_set_aside(current, advice),
        *_overfull(composition, current),
        *_range(figures),
        *_new_versions(current, figures, changes, scores, period),
        *_uncounted(composition, current),
        *_unmeasured(figures),
    )


def _set_aside(current: list[SpecVersion], advice: Mapping[tuple[str, int], tuple[Advice, ...]]) -> list[Finding]:
    """Specs of which lines were set aside: their figures look whole and are not."""
    names = [spec.spec for spec in current if any(one.name == LINES for one in advice[spec.key])]
    if not names:
        return []
    return [
        Finding(
            sentence=f"{listed(names)}: lines of the spec book are set aside, so cost, strength and allergens may be "
            "wrong. 'stillroom aside' says why.",
            evidence="The tables of what to be careful of name each such line.",
            subject=names[0],
        )
    ]


def _overfull(composition: Composition, current: list[SpecVersion]) -> list[Finding]:
    """Specs that say more comes out than goes in."""
    return [
        Finding(
            sentence=f"{spec.spec} says that more comes out than goes in: {said}.",
            evidence="Volumes from masses and published densities. A line is missing, or the yield is wrong; "
            "its cost and strength are off by as much.",
            sureness="likely",
            subject=spec.spec,
        )
        for spec in current
        if (said := more_than_goes_in(composition, spec)) is not None
    ]


def _range(figures: pl.DataFrame) -> list[Finding]:
    """The ends of the menu, and where it crowds."""
    drinks = figures.filter((pl.col("kind") == "drink") & pl.col("current") & pl.col("abv_pct").is_not_null())
    strong = drinks.sort("abv_pct")
    if strong.height < 2:
        return []
    weakest, strongest = strong.row(0, named=True), strong.row(-1, named=True)
    most = f"({strongest['spec']}, {strongest['alcohol_g']:.0f} g of alcohol a serve)"
    low_abv, high_abv = f"{weakest['abv_pct']:.1f} % vol", f"{strongest['abv_pct']:.1f} % vol"
    sweet = drinks.sort("sugar_g_100ml")
    low, high = sweet.row(0, named=True), sweet.row(-1, named=True)
    least_sugar, most_sugar = f"{low['sugar_g_100ml']:.1f}", f"{high['sugar_g_100ml']:.1f}"
    strength = f"run from {low_abv} ({weakest['spec']}) to {high_abv} {most}"
    sugar = f"from {least_sugar} g of sugar in 100 ml ({low['spec']}) to {most_sugar} ({high['spec']})"
    strength = strength if low_abv != high_abv else f"all have {high_abv}"
    sugar = sugar if least_sugar != most_sugar else f"{most_sugar} g of sugar in 100 ml each"
    return [
        Finding(
            sentence=f"Drinks {strength}, and {sugar}.",
            evidence=f"{counted(drinks.height, 'drink')} on the menu, as served.",
            sureness="sure" if drinks["whole"].all() else "likely",
        )
    ]


def _new_versions(
    current: list[SpecVersion], figures: pl.DataFrame, changes: pl.DataFrame, scores: pl.DataFrame, period: Period
) -> list[Finding]:
    """Versions that came into service in the period: what changed in the spec, in the glass and in the scores."""
    found = []
    for spec in current:
        begun = spec.in_service_from
        own = changes.filter((pl.col("spec") == spec.spec) & (pl.col("version") == spec.version))
        if begun is None or not period.first <= begun <= period.last or own.is_empty():
            continue
        before = own["from_version"][0]
        moved = _moved(figures, spec.spec, before, spec.version)
        what = listed([_change(row) for row in own.iter_rows(named=True)], most=4)
        liked = scores.filter(
            (pl.col("spec") == spec.spec) & (pl.col("version") == spec.version) & (pl.col("attribute") == "liking")
        )
        score = [
            f"liking {row['before']:.1f} before, {row['after']:.1f} after ({counted(row['tasters'], 'taster')})"
            for row in liked.iter_rows(named=True)
        ]
        found.append(
            Finding(
                sentence=f"{spec.spec}, version {spec.version} against {before}: {moved}. Changed: {what}.",
                evidence="; ".join([f"in service since {day_text(begun)}", *score]),
                sureness="sure" if figures.filter(pl.col("spec") == spec.spec)["whole"].all() else "likely",
                subject=spec.spec,
            )
        )
    return found


def _change(row: dict[str, str | None]) -> str:
    if row["before"] is None:
        return f"{row['what']} {row['after']} added"
    if row["after"] is None:
        return f"{row['what']} {row['before']} left out"
    # The version of what goes in is told where it is another one, or the only thing that changed.
    before, after = row["before"].partition(" (version "), row["after"].partition(" (version ")
    if before[0] != after[0] and before[1:] == after[1:]:
        return f"{row['what']} {before[0]} to {after[0]}"
    return f"{row['what']} {row['before']} to {row['after']}"


def _moved(figures: pl.DataFrame, spec: str, before: int, after: int) -> str:
    """How sugar, acid and alcohol moved, in words; what a jigger would not repeat is not told."""
    rows = {row["version"]: row for row in figures.filter(pl.col("spec") == spec).iter_rows(named=True)}
    old, new = rows[before], rows[after]
    words = {
        "sugar_g_100ml": ("sweeter", "less sweet", "g of sugar in 100 ml", 1),
        "acid_g_100ml": ("sourer", "less sour", "g of acid in 100 ml", 2),
        "abv_pct": ("stronger", "weaker", "% vol", 1),
    }
    said = []
    for column, (more, less, unit, places) in words.items():
        if old[column] is None or new[column] is None or abs(new[column] - old[column]) < MATTERS[column]:
            continue
        word = more if new[column] > old[column] else less
        said.append(f"{word} ({old[column]:.{places}f} to {new[column]:.{places}f} {unit})")
    return listed(said) if said else "much the same in sugar, acid and alcohol"


def _uncounted(composition: Composition, current: list[SpecVersion]) -> list[Finding]:
    """What could not be counted in the versions in service, in one finding."""
    why: dict[str, list[str]] = {}
    for spec in current:
        making = composition.making(spec)
        for what in (*making.not_counted, *(f"{item}: the price list says nothing of it" for item in making.not_known)):
            why.setdefault(what, []).append(spec.spec)
    if not why:
        return []
    where = sorted({name for names in why.values() for name in names})
    return [
        Finding(
            sentence=f"Not all can be counted: {_some([*why])}.",
            evidence=f"It stands in {listed(where)}; their figures are without it, or count it as water.",
            sureness="cannot tell",
        )
    ]


def _some(reasons: list[str]) -> str:
    """A few reasons, which may hold commas of their own, and how many more there are."""
    more = [f"{len(reasons) - MOST_REASONS} more"] if len(reasons) > MOST_REASONS else []
    return "; ".join([*reasons[:MOST_REASONS], *more])


def _unmeasured(figures: pl.DataFrame) -> list[Finding]:
    """Drinks whose dilution is assumed, in one finding."""
    drinks = figures.filter((pl.col("kind") == "drink") & pl.col("current"))
    usual = drinks.filter(~pl.col("dilution_measured"))["spec"].to_list()
    unsaid = drinks.filter(pl.col("dilution_pct").is_null())["spec"].to_list()
    found = []
    if usual:
        found.append(
            Finding(
                sentence=f"Chilling is assumed, not measured, for {counted(len(usual), 'drink')}: {listed(usual)}.",
                evidence="The usual figure of each method (common practice, from memory). Weigh a drink before and "
                "after chilling, and put the water added into dilution_pct.",
                sureness="cannot tell",
            )
        )
    if unsaid:
        found.append(
            Finding(
                sentence=f"Nothing says how {listed(unsaid)} {'is' if len(unsaid) == 1 else 'are'} chilled: "
                f"{'its' if len(unsaid) == 1 else 'their'} figures are before any melting ice.",
                evidence="A method that begins with built, stirred, shaken, thrown, blended or batched, "
                "or a measured dilution_pct, would tell.",
                sureness="cannot tell",
            )
        )
    return found
