"""What the balance and cost reports both begin with: the spec book, its composition, and the cautions beside it."""

from __future__ import annotations

from datetime import date

import polars as pl

from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.facts import batch_history, spec_facts
from stillroom.answers.advice import Advice, advice_on
from stillroom.glossary import named
from stillroom.objects import Column, ReportInputs, ReportTable


def composition_of(inputs: ReportInputs) -> Composition:
    """The composition of every version on the period's last day, or on the day of its service that is nearest to it."""
    return Composition(SpecBook(inputs.frames, inputs.period.last))


def current_versions(composition: Composition, inputs: ReportInputs) -> list[SpecVersion]:
    """Of each spec, the version in service on the period's last day.

    A drink that went out of service before the period began is left out.
    """
    book, first = composition.book, inputs.period.first
    return [spec for spec in book.all_in_service() if spec.kind != "drink" or _last_day(book, spec) >= first]


def _last_day(book: SpecBook, spec: SpecVersion) -> date:
    return max(span.last_day for span in book.spans.service(spec.spec, spec.version))


def service(composition: Composition, spec: SpecVersion, inputs: ReportInputs) -> str:
    """Whether a version is in service on the period's last day, in a word or two."""
    last = inputs.period.last
    spans = composition.book.spans.service(spec.spec, spec.version)
    if not spans:
        return "trial" if spec.version > composition.book.in_service(spec.spec).version else "not in service"
    if spans[0].first_day > last:
        return f"from {spans[0].first_day}"
    begun = [span for span in spans if span.first_day <= last][-1]
    return "in service" if begun.last_day >= last else f"until {begun.last_day}"


def advice(
    composition: Composition, specs: list[SpecVersion], inputs: ReportInputs
) -> dict[tuple[str, int], tuple[Advice, ...]]:
    """The cautions that apply to each version."""
    history = batch_history(inputs.frames["current_batch"], inputs.frames["batch_fate"])
    return {s.key: advice_on(spec_facts(composition, s, history), inputs.cautions) for s in specs}


def titles(advice: tuple[Advice, ...]) -> str:
    """The cautions of one spec, in few words, for a table's cell."""
    return ", ".join(one.title.lower() for one in advice)


def cautions_table(
    name: str, specs: list[SpecVersion], found: dict[tuple[str, int], tuple[Advice, ...]]
) -> ReportTable:
    """Every caution on some specs in full: it stands directly after the table that names them.

    Args:
        name: what the specs are: 'drinks' or 'preparations'.
    """
    rows = [
        (spec.spec, spec.version, one.title, one.text, one.source)
        for spec in sorted(specs, key=lambda spec: spec.spec)
        for one in found[spec.key]
    ]
    schema = {"spec": pl.String, "version": pl.Int64, "title": pl.String, "text": pl.String, "source": pl.String}
    return ReportTable(
        name=f"{name}-cautions",
        title=f"Be careful of: {name}",
        frame=pl.DataFrame(rows, schema=schema, orient="row"),
        subjects="spec",
        columns={
            **named("spec", "version"),
            "title": Column(label="Caution"),
            "text": Column(label="What to be careful of"),
            "source": Column(label="Rests on"),
        },
        note="Found by the words of a spec and the names of what is in it. A spec without a caution is not a safe one.",
    )


def drinks(specs: list[SpecVersion]) -> list[SpecVersion]:
    """The drinks among some specs."""
    return [spec for spec in specs if spec.kind == "drink"]


def preparations(specs: list[SpecVersion]) -> list[SpecVersion]:
    """What is made to go into drinks: preparations and garnishes."""
    return [spec for spec in specs if spec.kind != "drink"]
