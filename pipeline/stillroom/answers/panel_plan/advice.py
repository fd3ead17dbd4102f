"""Says how many tasters (or answers) it takes to see a given difference at given risks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from stillroom.answers.panel_plan.drawing import A_NOT_A, PREFERENCE, SCORES, Request
from stillroom.names import key_of, name_key, nearest

if TYPE_CHECKING:
    import polars as pl


@dataclass(frozen=True, kw_only=True)
class Aim:
    """What the session should be able to show."""

    difference: float | None = None
    """Scores: points; None = a sixteenth of the scale."""
    noticing: float = 0.3
    """Difference tests: share of people who truly notice."""
    alpha: float = 0.05
    """Risk of seeing a difference that is none."""
    beta: float = 0.2
    """Risk of missing one that is there."""


def advice(request: Request, aim: Aim, past: pl.DataFrame | None) -> str:
    """What it takes, in a sentence or two; `past`: the view panel_scores, None where there is no store."""
    return _on_scores(request, aim, past) if request.method == SCORES else _on_test(request, aim)


def _on_test(request: Request, aim: Aim) -> str:
    from stillroom.analysis.trials.a_not_a import glasses_that_hold
    from stillroom.analysis.trials.discrimination import GUESSING, answers_needed, answers_that_hold

    preference = request.method == PREFERENCE
    have = len(request.panelists) * request.replicates
    what = f"that {100 * aim.noticing:.0f} % of people truly {'prefer one version' if preference else 'notice'}"
    if request.method == A_NOT_A:
        glasses = glasses_that_hold(aim.noticing, aim.alpha, aim.beta)
        needed, least, how = None if glasses is None else 2 * glasses, None, "Fisher's exact test, as many of A as not"
    else:
        guessing, sides = 0.5 if preference else GUESSING[request.method], 2 if preference else 1
        needed = answers_that_hold(aim.noticing, aim.alpha, aim.beta, guessing, sides)
        least, how = answers_needed(aim.noticing, aim.alpha, aim.beta, guessing, sides), "exact binomial"
    if needed is None:
        return f"To show {what} ({_risks(aim)}) takes more than can be had."
    printed = f", and every larger number does; printed tables name {least}" if least and least < needed else ""
    return f"To show {what} ({_risks(aim)}) takes {needed} answers ({how}){printed}; this session gives {have}."


def _on_scores(request: Request, aim: Aim, past: pl.DataFrame | None) -> str:
    from stillroom.analysis.panel.pairs import SMALLEST_SHARE
    from stillroom.analysis.panel.sizes import sizes

    versions = len(request.versions)
    attribute = next((a for a in request.attributes if a.kind == "liking"), request.attributes[0])
    low, high = attribute.scale
    size = aim.difference if aim.difference is not None else (high - low) * SMALLEST_SHARE
    found = _past_scatter(request.spec, attribute.name, (low, high), past)
    if found is None:
        return (
            f"How many tasters a difference of {size:g} points takes cannot be told yet: there are no past scores of "
            f"{attribute.name} from {low} to {high} to tell the panel's scatter."
        )
    scatter, df, where = found
    pairs = versions * (versions - 1) // 2
    named = sizes(scatter, df, versions, size, pairs, aim.alpha, 1 - aim.beta)
    what = f"a difference of {size:g} points in {attribute.name} ({_risks(aim)})"
    # Each pair meets less often where nobody tastes all: efficiency of balanced incomplete blocks.
    taste = min(versions, request.samples_at_most)
    needed, least, most = (
        None if number is None else ceil(number * (versions - 1) / (taste - 1))
        for number in (named.needed, named.low, named.high)
    )
    if needed is None:
        return f"To see {what} takes more than a thousand tasters at this panel's scatter of {scatter:.1f} points."
    return (
        f"To see {what} takes about {needed} tasters ({least} to {most or 'over 1000'}) at a scatter of {scatter:.1f} "
        f"points ({where}); this session has {len(request.panelists)}.{_further(request, past)}"
    )


def _further(request: Request, past: pl.DataFrame | None) -> str:
    """The number is that of a first sitting: a further look that nobody planned has to be paid for."""
    import polars as pl

    if past is None or request.looks is not None:
        return ""
    met = past.filter(key_of(pl.col("spec")) == name_key(request.spec), pl.col("version").is_in(list(request.versions)))
    together = met.group_by("session").agg(pl.col("version").n_unique()).filter(pl.col("version") > 1)
    if together.is_empty():
        return ""
    return (
        " Some of these versions have met before: a further sitting that was not planned then takes more, as the panel "
        "report says."
    )


def _past_scatter(
    spec: str, attribute: str, scale: tuple[int, int], past: pl.DataFrame | None
) -> tuple[float, float, str] | None:
    """Residual standard deviation of the spec's own past scores, else of other specs', and its degrees of freedom.

    Sessions of fewer than six people are left out, as the report leaves them.
    """
    import numpy as np
    import polars as pl

    from stillroom.analysis.panel.sizes import FEWEST
    from stillroom.analysis.panel.verdicts import compare_versions

    if past is None:
        return None
    alike = past.filter(
        (pl.col("attribute").str.to_lowercase() == attribute.casefold())
        & (pl.col("scale_low") == scale[0])
        & (pl.col("scale_high") == scale[1])
    )
    known = compare_versions(alike).tests.filter(pl.col("residual_sd").is_not_null(), pl.col("panelists") >= FEWEST)
    own = known.filter(key_of(pl.col("spec")) == name_key(spec))
    for tests, where in ((own, f"past scores of {spec}"), (known, "past scores of other specs")):
        if tests.height:
            sd, df = (tests[name].to_numpy() for name in ("residual_sd", "df_within"))
            return float(np.sqrt(np.average(sd**2, weights=df))), float(df.sum()), where
    return None


def not_in_the_book(spec: str, versions: Sequence[int], book: pl.DataFrame) -> list[str]:
    """What the spec book lacks of the session, a sentence or none; `book`: the view current_spec."""
    import polars as pl

    own = book.filter(key_of(pl.col("spec")) == name_key(spec))
    if own.is_empty():
        meant = nearest(spec, book["spec"].unique().sort().to_list())
        hint = f" Did you mean '{meant}'?" if meant else ""
        return [f"There is no spec '{spec}' in the spec book yet: scores join it by its name.{hint}"]
    lacking = [f"{version}" for version in versions if version not in own["version"].to_list()]
    if not lacking:
        return []
    word = "version" if len(lacking) == 1 else "versions"
    return [f"The spec book has no {word} {' and '.join(lacking)} of {own['spec'][0]} yet."]


def _risks(aim: Aim) -> str:
    return f"risks: {100 * aim.alpha:.0f} % of a false alarm, {100 * aim.beta:.0f} % of missing it"
