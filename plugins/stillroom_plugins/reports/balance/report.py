"""Report: what is in every drink and preparation, and what each new version changed."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.specs.changes import line_changes, score_changes
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.figures import figures_by_version, yield_of
from stillroom.analysis.specs.standard_drinks import STANDARD_DRINKS
from stillroom.answers.advice import Advice
from stillroom.glossary import named
from stillroom.objects import Column, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports import _spec_inputs
from stillroom_plugins.reports.balance import charts, findings

NOTES: Final = (
    "Figures at 20 °C. Drinks: one serve after chilling. Preparations and garnishes: one making, all nesting unfolded.",
    "Contraction on mixing is counted: sucrose by ICUMSA, ethanol by OIML R 22; where both are there, by the additive "
    "rule, off by up to 0.05 % of the density in a drink and 0.35 % in a strong liqueur.",
    "°Brix is grams of sugar in 100 g, not what a refractometer shows: acid reads as sugar there, alcohol shifts it.",
    "Acid is in grams of citric acid, as the price list states it. Water includes whatever else is dissolved.",
    "A loss between what goes in and what comes out is taken as mixture left behind: the strength stays. What is "
    "boiled down comes out stronger than shown.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and the chart of composition."""
    if inputs.frames["current_spec"].is_empty():
        return ReportResult(notes=("There are no specs yet: nothing is known of what is in the glass.",))
    composition = _spec_inputs.composition_of(inputs)
    current = _spec_inputs.current_versions(composition, inputs)
    advice = _spec_inputs.advice(composition, current, inputs)
    standard = STANDARD_DRINKS.get(inputs.house.standard_drink or "")
    figures = _described(composition, inputs, advice, standard.alcohol_g if standard else None)
    changes = line_changes(composition.book)
    scores = scores_beside(figures, score_changes(inputs.frames["panel_scores"]))
    word = standard.word if standard else None
    tables = [
        _figures_table("drinks", "Drinks, every version", figures.filter(pl.col("kind") == "drink"), word),
        _spec_inputs.cautions_table("drinks", _spec_inputs.drinks(current), advice),
        _figures_table("preparations", "Preparations and garnishes", figures.filter(pl.col("kind") != "drink"), None),
        _spec_inputs.cautions_table("preparations", _spec_inputs.preparations(current), advice),
        _yields_table(composition),
        _changes_table(changes),
        _scores_table(scores),
    ]
    notes = (*NOTES, f"A standard drink: {standard.source}.") if standard else NOTES
    return ReportResult(
        findings=findings.findings(composition, current, figures, changes, scores, advice, inputs.period),
        tables=tuple(table for table in tables if table.frame.height),
        charts=charts.charts(figures),
        notes=notes,
    )


def _described(
    composition: Composition,
    inputs: ReportInputs,
    advice: dict[tuple[str, int], tuple[Advice, ...]],
    standard_drink_g: float | None,
) -> pl.DataFrame:
    """The figures of every version, with whether it is in service and what to be careful of.

    Returns:
        the columns of `figures_by_version`, current (the one version of a spec that the report speaks of), service,
        counted, careful.
    """
    facts = [
        (
            spec.spec,
            spec.version,
            spec.key in advice,
            _spec_inputs.service(composition, spec, inputs),
            _spec_inputs.titles(advice.get(spec.key, ())),
        )
        for spec in composition.book.specs.values()
    ]
    schema = {"spec": pl.String, "version": pl.Int64, "current": pl.Boolean, "service": pl.String, "careful": pl.String}
    counted = pl.when("whole").then(pl.lit("")).otherwise(pl.lit("not all counted"))
    return (
        figures_by_version(composition, standard_drink_g)
        .join(pl.DataFrame(facts, schema=schema, orient="row"), on=["spec", "version"], how="left")
        .with_columns(counted.alias("counted"))
    )


def scores_beside(figures: pl.DataFrame, scores: pl.DataFrame) -> pl.DataFrame:
    """Score changes with the change in sugar, acid and alcohol beside them.

    Returns:
        the columns of `score_changes` and sugar, acid, abv: version less from_version, null where one is not known.
    """
    known = figures.select("spec", "version", "sugar_g_100ml", "acid_g_100ml", "abv_pct")
    after = scores.with_columns(pl.col("version").cast(pl.Int64), pl.col("from_version").cast(pl.Int64))
    return (
        after.join(known, on=["spec", "version"], how="left")
        .join(known.rename({"version": "from_version"}), on=["spec", "from_version"], how="left", suffix="_before")
        .with_columns(
            (pl.col("sugar_g_100ml") - pl.col("sugar_g_100ml_before")).alias("sugar"),
            (pl.col("acid_g_100ml") - pl.col("acid_g_100ml_before")).alias("acid"),
            (pl.col("abv_pct") - pl.col("abv_pct_before")).alias("abv"),
        )
        .select(*scores.columns, "sugar", "acid", "abv")
        .sort("spec", "version", "attribute")
    )


def _figures_table(name: str, title: str, frame: pl.DataFrame, standard_word: str | None) -> ReportTable:
    columns = {
        **named("spec", "version"),
        "service": Column(label="In service"),
        **named("careful"),
        "abv_pct": Column(label="Alcohol", unit="% vol", decimals=1),
        "sugar_g_100ml": Column(label="Sugar", unit="g/100 ml", decimals=1),
        "acid_g_100ml": Column(label="Acid", unit="g/100 ml", decimals=2),
        "sugar_acid_ratio": Column(label="Sugar to acid", decimals=1),
        "volume_ml": Column(label="Volume", unit="ml", decimals=0),
        "alcohol_g": Column(label="Alcohol", unit="g", decimals=1),
        "standard_drinks": Column(label=standard_word or "", decimals=1),
        "brix": Column(label="Sugar", unit="°Brix", decimals=1),
        "mass_g": Column(label="Mass", unit="g", decimals=0),
        "density_g_ml": Column(label="Density", unit="g/ml", decimals=3),
        "water_g": Column(label="Water", unit="g", decimals=0),
        "allergens": Column(label="Allergens stated"),
        "counted": Column(label="Counted"),
    }
    if standard_word is None:
        del columns["standard_drinks"]
    if frame.filter(~pl.col("whole")).is_empty():
        del columns["counted"]
    return ReportTable(name=name, title=title, frame=frame, columns=columns, subjects="spec")


def _yields_table(composition: Composition) -> ReportTable:
    rows = []
    for spec in composition.book.specs.values():
        found = yield_of(spec, composition.making(spec))
        if found.said:
            share = None if found.share is None else found.share
            rows.append((spec.spec, spec.version, found.worked_out, found.stated, found.unit, share, found.said))
    names = ["spec", "version", "worked_out", "stated", "unit", "share", "said"]
    types = [pl.String, pl.Int64, pl.Float64, pl.Float64, pl.String, pl.Float64, pl.String]
    return ReportTable(
        name="yields",
        title="What should come out of a making, and what the spec says",
        frame=pl.DataFrame(rows, schema=dict(zip(names, types, strict=True)), orient="row").sort("spec", "version"),
        subjects="spec",
        columns={
            **named("spec", "version"),
            "worked_out": Column(label="Should come out", decimals=0),
            "stated": Column(label="Spec says", decimals=0),
            **named("unit"),
            "share": Column(label="Spec of worked out", percent=True, decimals=0),
        },
    )


def _changes_table(changes: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="changes",
        title="What changed from version to version",
        frame=changes,
        subjects="spec",
        columns={
            **named("spec"),
            "from_version": Column(label="From"),
            "version": Column(label="To"),
            "what": Column(label="What"),
            "before": Column(label="Before"),
            "after": Column(label="After"),
        },
    )


def _scores_table(scores: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="scores",
        title="The panel's scores beside what changed in the glass",
        frame=scores,
        subjects="spec",
        columns={
            **named("spec"),
            "from_version": Column(label="From"),
            "version": Column(label="To"),
            **named("attribute"),
            "before": Column(label="Score before", decimals=1),
            "after": Column(label="Score after", decimals=1),
            "difference": Column(label="Difference", decimals=1, signed=True),
            "tasters": Column(label="Tasters"),
            "sugar": Column(label="Sugar", unit="g/100 ml", decimals=1, signed=True),
            "acid": Column(label="Acid", unit="g/100 ml", decimals=2, signed=True),
            "abv": Column(label="Alcohol", unit="% vol", decimals=1, signed=True),
        },
        note="Means of the tasters who had both versions in one session. Whether a difference is more than chance is "
        "the panel report's to say.",
    )
