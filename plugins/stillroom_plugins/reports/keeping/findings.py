"""What the keeping report has to say, in sentences."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.batches.kept import Kept
from stillroom.analysis.batches.measured import KeptWorse, MeasuredSeries
from stillroom.objects import Finding
from stillroom_plugins.reports._words import counted, listed, number, percent
from stillroom_plugins.reports.panel.words import p_value

MEASURES: Final = {"brix": "°Brix", "ph": "pH"}
FEW: Final = 0.1
"""Share spoiled before the label's day that asks for a look."""
UNLIKE: Final = 0.05


def findings(
    kept: list[Kept], series: list[MeasuredSeries], worse: KeptWorse | None, liking: pl.DataFrame
) -> tuple[Finding, ...]:
    """All findings."""
    if not kept:
        return (Finding(sentence="No batch in the batch book yet.", evidence="0 batches."),)
    said = [_shorter(one) for one in kept if one.spoiled]
    said += [found for one in kept for found in _unlike(one)]
    said += [_never_spoiled(kept)] if any(not one.spoiled for one in kept) else []
    said += [found for one in series for found in _measured(one)]
    steady = [f"{one.preparation} ({MEASURES[one.measure]})" for one in series if one.chart.steady and not one.off_spec]
    if steady:
        sentence = f"Made the same each time, as far as measured: {listed(steady)}."
        said.append(Finding(sentence=sentence, evidence=f"No signal on {counted(len(steady), 'control chart')}."))
    said += _off_target(series, worse, liking)
    return tuple(said)


def _shorter(one: Kept) -> Finding:
    curve = one.curve
    label, name = one.label_days, one.preparation
    evidence = f"{one.spoiled} of {counted(one.batches, 'batch', 'batches')} spoiled before their use-by"
    first = curve.days[0]
    if label is None:
        sentence = f"{name}: the first batch was gone by day {number(first)}; its label says no keep time."
        return Finding(sentence=sentence, evidence=f"{evidence}.", subject=name, sureness="likely")
    good, low, high = curve.good_after(label)
    gone = 1 - good
    evidence += f"; {percent(gone)} gone by day {label} (95 % interval {percent(1 - high)} to {percent(1 - low)})"
    weibull = one.weibull
    if weibull is not None:
        evidence += f"; Weibull life: 1 in 10 gone by day {number(weibull.day_by_which(0.1), 1)}"
    act = gone > FEW
    sure = 1 - high > FEW
    if act:
        part, day = next((f"1 batch in {n}", d) for n in (2, 3, 5, 10) if (d := curve.day_by_which(1 / n)) is not None)
        sentence = (
            f"{name}: the label says {counted(label, 'day')}; {part} is gone by day {number(day)}. "
            f"Until it is known why, {_label_for(int(first) - 1)}"
        )
    else:
        gone_off = counted(one.spoiled, "batch", "batches")
        sentence = (
            f"{name}: {gone_off} went off, {'the first ' if one.spoiled > 1 else ''}by day {number(first)} of {label}."
        )
    return Finding(
        sentence=sentence,
        evidence=f"{evidence}.",
        sureness="sure" if sure else "likely" if one.spoiled > 1 else "cannot tell",
        act=act and one.spoiled > 1,
        subject=name,
        do=_label_for(int(first) - 1).partition(":")[0] if act else "",
        weight=gone * one.batches,
    )


def _label_for(days: int) -> str:
    if days < 1:
        return "use it on the day it is made: the first one did not last the next."
    return f"label it {counted(days, 'day')}: less than the first one lasted."


def _unlike(one: Kept) -> list[Finding]:
    said = []
    for test, words in ((one.by_version, "versions"), (one.by_storage, "kinds of storage")):
        if test is not None and test.p_value < UNLIKE:
            said.append(
                Finding(
                    sentence=f"{one.preparation}: its {words} do not keep alike.",
                    evidence=f"{one.spoiled} of {counted(one.batches, 'batch', 'batches')} spoiled.",
                    statistics=f"Log-rank test, chi-squared {number(test.chi_squared, 2)} on "
                    f"{counted(test.degrees, 'degree')} of freedom, {p_value(test.p_value)}.",
                    sureness="likely",
                    subject=one.preparation,
                )
            )
    return said


def _never_spoiled(kept: list[Kept]) -> Finding:
    none = [one for one in kept if not one.spoiled]
    fewest = max(none, key=lambda one: one.could_spoil)
    return Finding(
        sentence=f"Nothing spoiled before its use-by: {listed([one.preparation for one in none], 8)}. "
        "That gives no figure for how long they would keep, and no ground for a longer label.",
        evidence=f"{counted(sum(one.batches for one in none), 'batch', 'batches')}; with "
        f"{counted(fewest.batches, 'batch', 'batches')} of {fewest.preparation} up to "
        f"{percent(fewest.could_spoil)} could still spoil (95 %, exact).",
    )


def _measured(one: MeasuredSeries) -> list[Finding]:
    said = []
    unit = MEASURES[one.measure]
    mean = sum(one.chart.values) / len(one.chart.values)
    limits = f"limits {number(one.chart.low, 2)} to {number(one.chart.high, 2)} {unit}"
    base = f"{counted(one.batches.height, 'batch', 'batches')} measured, mean {number(mean, 2)} {unit}"
    if one.chart.runs or one.chart.drift is not None:
        since = one.batches["made_on"][one.chart.runs[0]] if one.chart.runs else None
        side = f"; by {since} eight batches in a row lay on one side of the mean" if since is not None else ""
        sentence = f"{one.preparation}: its {unit} {_moved(one.chart.drift, unit)}{side}."
        said.append(_about(one, f"{sentence} Check the scale, the reduction and the fruit.", f"{base}; {limits}."))
    off = [*one.off_target, *(one.batches["batch"][place] for place in one.chart.jumps)]
    if off:
        names = listed(list(dict.fromkeys(off)), 4)
        sentence = (
            f"{one.preparation}: {unit} out of the ordinary in batch {names}. Look at how it was made and measured."
        )
        said.append(
            _about(one, sentence, f"{base}; {limits}; steps above {number(one.chart.range_high, 2)} count too.")
        )
    if one.off_spec is not None and one.target is not None:
        more = "above" if one.off_spec > 0 else "below"
        sentence = (
            f"{one.preparation}: batches lie {number(abs(one.off_spec), 1)} {unit} {more} what the spec works out at."
        )
        said.append(
            _about(one, sentence, f"{base}; the spec works out at {number(one.target, 1)} {unit} (t test at 1 %).")
        )
    return said


def _moved(drift: float | None, unit: str) -> str:
    if drift is None:
        return "has moved"
    return f"{'rises' if drift > 0 else 'falls'} by {number(abs(drift), 2)} {unit} from batch to batch"


def _about(one: MeasuredSeries, sentence: str, evidence: str) -> Finding:
    return Finding(sentence=sentence, evidence=evidence, sureness="likely", act=True, subject=one.preparation)


def _off_target(series: list[MeasuredSeries], worse: KeptWorse | None, liking: pl.DataFrame) -> list[Finding]:
    said = []
    if worse is not None:
        counts = (
            f"{worse.off_spoiled} of {worse.off} outside the limits spoiled, "
            f"{worse.others_spoiled} of {worse.others} others; Fisher's exact test {p_value(worse.p_value)}."
        )
        if worse.p_value < UNLIKE:
            more = "more" if worse.off_spoiled / worse.off > worse.others_spoiled / worse.others else "less"
            sentence = f"Batches outside their limits spoiled {more} often than the others."
            said.append(Finding(sentence=sentence, evidence=counts, sureness="likely"))
        else:
            sentence = "Whether batches outside their limits keep worse: cannot tell."
            said.append(Finding(sentence=sentence, evidence=counts, sureness="cannot tell"))
    if any(one.off_target for one in series):
        off, others = liking.filter("off_target"), liking.filter(~pl.col("off_target"))
        evidence = f"{counted(off.height, 'tasted batch', 'tasted batches')} outside the limits, {others.height} others"
        if off.height and others.height:
            means = [float(frame["liking"].to_numpy().mean()) for frame in (off, others)]
            evidence += f"; mean liking {percent(means[0])} and {percent(means[1])} of the scale"
        sentence = "Whether batches outside their limits score worse: cannot tell from so few tastings."
        said.append(Finding(sentence=sentence, evidence=f"{evidence}.", sureness="cannot tell"))
    return said
