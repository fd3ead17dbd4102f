"""What the keeping report has to say, in sentences."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.batches.kept import CONFIDENCE, GONE, LEAST_SPOILED, UNLIKE, Kept
from stillroom.analysis.batches.measured import KeptWorse, MeasuredSeries
from stillroom.objects import Finding
from stillroom.words import counted, day_text, listed, number, p_value, percent

MEASURES: Final = {"brix": "°Brix", "ph": "pH"}


def findings(
    kept: list[Kept], series: list[MeasuredSeries], worse: KeptWorse | None, liking: pl.DataFrame
) -> tuple[Finding, ...]:
    """All findings."""
    if not kept:
        return (Finding(sentence="No batch in the batch book yet.", evidence="0 batches."),)
    said = [_keep(one) for one in kept if one.spoiled]
    said += [found for one in {one.preparation: one for one in kept}.values() for found in _unlike(one)]
    said += [_never_spoiled(kept)] if any(not one.spoiled for one in kept) else []
    said += [found for one in series for found in _measured(one)]
    steady = [f"{one.preparation} ({MEASURES[one.measure]})" for one in series if one.steady and not one.off_spec]
    if steady:
        sentence = f"Made the same each time, as far as measured: {listed(steady)}."
        said.append(Finding(sentence=sentence, evidence=f"No signal on {counted(len(steady), 'control chart')}."))
    said += _off_target(series, worse, liking)
    return tuple(said)


def _keep(one: Kept) -> Finding:
    """What the spoiled batches of a preparation say of its label."""
    label, name = one.label_days, one.name
    went = f"{counted(one.spoiled, 'batch', 'batches')} of {one.batches} went off"
    found = f"found on {listed([f'day {number(day)}' for day in one.curve.days], 4)} after the making"
    if one.gone_by is None:
        until = "its label says no keep time" if label is None else f"keep to its label, {_for(label)}, or less"
        return Finding(
            sentence=f"{name}: {went}: too few to say how long it keeps; {until}.",
            evidence=f"{found[0].upper()}{found[1:]}; it takes {LEAST_SPOILED} to tell.",
            sureness="cannot tell",
            subject=one.preparation,
            weight=one.spoiled,
        )
    keep = one.keep_days or 0
    shorter = label is not None and keep < label
    about = one.gone_by.within(0.5)
    if label is None:
        sentence = f"{name}: {_keep_for(keep)}; its label says no keep time."
    elif shorter:
        sentence = f"{name}: {_keep_for(keep)}, not the {counted(label, 'day')} of its label: {went} before then."
    else:
        sentence = f"{name}: {went} before its label's {counted(label, 'day')}, fewer than 1 in 10: keep to the label."
    return Finding(
        sentence=sentence,
        evidence=f"1 batch in 10 is gone by day {number(about, 1)} or so, and no sooner than day "
        f"{number(one.gone_by.within(1 - CONFIDENCE), 1)} (4 times in 5); {found}.",
        sureness="sure" if one.label_too_long or not shorter else "likely",
        act=shorter,
        subject=one.preparation,
        do=_keep_for(keep) if shorter else "",
        statistics=_statistics(one),
        weight=one.spoiled,
    )


def _for(days: int) -> str:
    return f"{counted(days, 'day')} from the making"


def _keep_for(days: int) -> str:
    return f"keep it {counted(days, 'day')}" if days else "use it on the day it is made"


def _statistics(one: Kept) -> str:
    said = "Interval-censored Weibull lives, flat prior on the logarithms of day and shape"
    if one.weibull is not None:
        said += (
            f"; by maximum likelihood shape {number(one.weibull.shape, 2)}, scale {number(one.weibull.scale, 1)} days"
        )
    gone = one.went.day_by_which(GONE) if one.went else None
    return f"{said}; without a model 1 in 10 seen gone by day {number(gone)}." if gone is not None else f"{said}."


def _unlike(one: Kept) -> list[Finding]:
    said = []
    for test, apart, words in (
        (one.by_version, one.version, "versions"),
        (one.by_storage, one.storage, "kinds of storage"),
    ):
        if test is not None and apart is not None:
            said.append(
                Finding(
                    sentence=f"{one.preparation}: its {words} do not keep alike; each is told by itself.",
                    evidence="Seen too rarely by chance, were they alike: less than once in 20 times.",
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
        sentence=f"Nothing spoiled before its use-by: {listed([one.name for one in none], 8)}. "
        "That gives no figure for how long they would keep, and no ground for a longer label.",
        evidence=f"{counted(sum(one.batches for one in none), 'batch', 'batches')}; with "
        f"{counted(fewest.batches, 'batch', 'batches')} of {fewest.name} up to "
        f"{percent(fewest.could_spoil)} could still spoil.",
        statistics="Upper end of the exact 95 % interval for a share.",
    )


def _measured(one: MeasuredSeries) -> list[Finding]:
    said = []
    unit = MEASURES[one.measure]
    mean = sum(one.in_force) / len(one.in_force)
    limits = f"limits {number(one.chart.low, 2)} to {number(one.chart.high, 2)} {unit}"
    base = f"{counted(len(one.in_force), 'batch', 'batches')} measured, mean {number(mean, 2)} {unit}"
    if one.stepped_at is not None:
        base = f"{base} since {day_text(one.batches['made_on'][one.stepped_at])}, of {one.batches.height} in all"
    if one.course.kind != "level":
        sentence = f"{one.preparation}: its {unit} {_moved(one, unit)}."
        said.append(_about(one, f"{sentence} Check the scale, the reduction and the fruit.", f"{base}; {limits}."))
    off = [*one.off_target, *(one.batches["batch"][place] for place in one.chart.jumps)]
    if off:
        names = list(dict.fromkeys(off))
        sentence = (
            f"{one.preparation}: {unit} out of the ordinary in {'batch' if len(names) == 1 else 'batches'} "
            f"{listed(names, 4)}. Look at how {'it was' if len(names) == 1 else 'they were'} made and measured."
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


def _moved(one: MeasuredSeries, unit: str) -> str:
    if one.stepped_at is None:
        slope = one.course.slope
        return f"{'rises' if slope > 0 else 'falls'} by {number(abs(slope), 2)} {unit} from batch to batch"
    place = one.stepped_at
    change = one.chart.middles[place] - one.chart.middles[place - 1]
    versions = one.batches["version"]
    why = f", the first of version {versions[place]}" if versions[place] != versions[place - 1] else ""
    return (
        f"stepped {'up' if change > 0 else 'down'} by {number(abs(change), 2)} {unit} with batch "
        f"{one.batches['batch'][place]} of {day_text(one.batches['made_on'][place])}{why}"
    )


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
