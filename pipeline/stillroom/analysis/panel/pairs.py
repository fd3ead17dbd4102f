"""The differences of one attribute, pair by pair: corrected, counted, and judged by as many looks as there were."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np

from stillroom.analysis.holm import holm
from stillroom.analysis.panel.anytime import look_levels
from stillroom.analysis.panel.attributes import Part
from stillroom.analysis.panel.blocks import Blocks
from stillroom.analysis.panel.comparisons import (
    Difference,
    against_one,
    all_pairs,
    at_planned_look,
    equivalence_p,
    newer_from_older,
    not_worse_p,
    whenever,
)
from stillroom.analysis.panel.exact import sign_flip
from stillroom.analysis.panel.fitting import Fitted
from stillroom.analysis.panel.simultaneous import many_to_one_critical, studentized_range_critical
from stillroom.analysis.panel.sittings import sittings_of
from stillroom.analysis.panel.sizes import FEWEST, rounds_needed_again, sizes, tasters_needed_again

SMALLEST_SHARE: Final = 1 / 16
"""Difference worth seeing where no margin is set, as a share of the scale: half a point from 1 to 9.

Common practice, no source.
"""
ORDER: Final = "order"
SITTINGS: Final = "sittings"


def difference_rows(
    part: Part, blocks: Blocks, fitted: Fitted, serving: int | None, margin: float | None
) -> Iterator[dict[str, Any]]:
    """All pairs after Tukey, and those with the version in service after Dunnett; newer minus older."""
    fit = fitted.fit
    looks = _Looks(part)
    worth = margin if margin is not None else part.width * SMALLEST_SHARE
    for correction, differences in _corrected(part, fitted, serving):
        count = len(differences)
        size = _sizes(part, fitted, worth, count)
        for difference in differences:
            pair = part.versions[difference.version], part.versions[difference.against]
            sat = looks.sittings(pair)
            judged = looks.judged(difference, pair, fitted, correction, count)
            about = _about_pair(part, blocks, difference, worth)
            if fitted.mixed_up[difference.version, difference.against]:
                about["doubt"] = ORDER
            figures = _figures(judged, margin) if about["doubt"] is None else {"difference": difference.difference}
            yield {
                **about,
                **figures,
                **size,
                "correction": correction,
                "sittings": sat,
                "level": judged.level,
                "panelists": fit.panelists,
                "looked_again": judged.critical != difference.critical and judged.level == difference.level,
                "planned": looks.planned(pair),
            }


def agreed_rows(part: Part, blocks: Blocks, serving: int | None, margin: float | None) -> Iterator[dict[str, Any]]:
    """The same where panelists differ in nothing but their level: counted, by the exact test.

    Where everybody tasted everything it needs no correction. Of versions that are all alike, n people who agree in
    every step do so by chance once in m ** (n - 1), if a person's scores can stand in m orders, and m is 2 or more
    wherever a pair differs; so no set of pairs is surer by chance than the pair itself (closed testing: Marcus, Peritz
    & Gabriel 1976, *Biometrika* 63:655, from memory). Elsewhere Holm over the pairs.
    """
    count = len(part.versions)
    worth = margin if margin is not None else part.width * SMALLEST_SHARE
    pairs = [(later, earlier) for later in range(count) for earlier in range(later)]
    families = {"Tukey": pairs}
    if serving in part.versions:
        families["Dunnett"] = [pair for pair in pairs if part.versions.index(serving) in pair]
    means = np.nanmean(blocks.scores, axis=0)
    for correction, members in families.items():
        rows = []
        for later, earlier in members:
            own = blocks.by_panelist(later, earlier)
            step = float(own.mean()) if len(own) else float(means[later] - means[earlier])
            rows.append(
                {
                    **_about_columns(part, blocks, later, earlier, worth),
                    "correction": correction,
                    "difference": step,
                    "sittings": 1,
                    "level": 0.05,
                    "panelists": len(set(blocks.panelists)),
                    "looked_again": False,
                    "planned": None,
                }
            )
        own_p = [1.0 if row["exact_p"] is None else row["exact_p"] for row in rows]
        corrected = holm(own_p) if np.isnan(blocks.scores).any() else own_p
        yield from (row | {"p": float(p)} for row, p in zip(rows, corrected, strict=True))


def _corrected(part: Part, fitted: Fitted, serving: int | None) -> Iterator[tuple[str, list[Difference]]]:
    yield "Tukey", all_pairs(fitted.fit)
    if serving in part.versions:
        from_serving = against_one(fitted.fit, part.versions.index(serving))
        yield "Dunnett", [newer_from_older(difference) for difference in from_serving]


class _Looks:
    """In how many sittings each pair met, and how many were planned before the first."""

    def __init__(self, part: Part) -> None:
        met: dict[str, tuple[set[int], set[int]]] = {}
        columns = (part.frame[name].to_list() for name in ("session", "version", "looks"))
        for session, version, looks in zip(*columns, strict=True):
            versions, said = met.setdefault(session, (set(), set()))
            versions.add(version)
            said |= {looks} - {None}
        self.met = [(versions, max(said, default=None)) for versions, said in met.values()]

    def sittings(self, pair: tuple[int, int]) -> int:
        return len(self._of(pair))

    def _of(self, pair: tuple[int, int]) -> list[int | None]:
        return [looks for versions, looks in self.met if versions.issuperset(pair)]

    def planned(self, pair: tuple[int, int]) -> int | None:
        """Sittings planned of a pair; None where it was not said at each of them, or there are more."""
        said = set(self._of(pair))
        looks = said.pop() if len(said) == 1 else None
        return looks if looks is not None and self.sittings(pair) <= looks else None

    def judged(
        self, difference: Difference, pair: tuple[int, int], fitted: Fitted, correction: str, count: int
    ) -> Difference:
        """At 5 % in one sitting; at its share of 5 % at a planned look; else by what holds whenever one looks."""
        sat, planned = self.sittings(pair), self.planned(pair)
        if planned == 1:
            return difference
        if planned is not None:
            level = look_levels(planned)[sat - 1]
            versions = len(fitted.fit.means)
            if correction == "Dunnett":
                return at_planned_look(
                    difference, level, lambda df: many_to_one_critical((0.5**0.5,) * count, df, level)
                )
            return at_planned_look(
                difference, level, lambda df: studentized_range_critical(versions, df, level) / np.sqrt(2)
            )
        return difference if sat <= 1 else whenever(difference, fitted.fit.residual_sd, count)


def _about_pair(part: Part, blocks: Blocks, difference: Difference, worth: float) -> dict[str, Any]:
    return _about_columns(part, blocks, difference.version, difference.against, worth)


def _about_columns(part: Part, blocks: Blocks, version: int, against: int, worth: float) -> dict[str, Any]:
    """What does not depend on the model: names, counts, the exact test and what the sittings say of one another."""
    own = blocks.by_panelist(version, against)
    flipped = sign_flip(own) if len(own) else None
    by_block, sessions, _ = blocks.pair(version, against)
    sat = sittings_of(by_block, sessions) if len(by_block) else None
    contradict = sat is not None and sat.contradict
    means = {} if sat is None else dict(zip(sat.sessions, sat.means, strict=True))
    return {
        "spec": part.spec,
        "attribute": part.attribute,
        "higher_is_better": part.higher_is_better,
        "primary": part.primary,
        "sessions": "; ".join(part.sessions),
        "version": part.versions[version],
        "against": part.versions[against],
        "never_met": flipped is None,
        "worth_seeing": worth,
        "tasted_both": 0 if flipped is None else flipped.panelists,
        "scored_higher": 0 if flipped is None else flipped.higher,
        "scored_lower": 0 if flipped is None else flipped.lower,
        "exact_p": None if flipped is None else flipped.p,
        "doubt": SITTINGS if contradict else None,
        "by_sitting": None
        if sat is None
        else "; ".join(f"{means[session]:+.1f} in {session}" for session in part.sittings if session in means),
    }


def _sizes(part: Part, fitted: Fitted, worth: float, count: int) -> dict[str, Any]:
    """How many tasters a difference worth seeing takes; of liking alone, and not from the scatter of a few people."""
    fit = fitted.fit
    if not part.primary or fit.panelists < FEWEST:
        return {}
    found = sizes(fit.residual_sd, float(np.median(fit.pair_df[0, 1:])), len(fit.means), worth, count)
    again = tasters_needed_again(fit.residual_sd, len(fit.means), worth, count)
    rounds = rounds_needed_again(fit.residual_sd, fit.panelists, len(fit.means), worth, count)
    return {
        "tasters_needed": found.needed,
        "tasters_low": found.low,
        "tasters_high": found.high,
        "tasters_again": again,
        "rounds_again": rounds,
    }


def _figures(difference: Difference, margin: float | None) -> dict[str, Any]:
    known = np.isfinite(difference.critical)
    return {
        "difference": difference.difference,
        "low": difference.low if known else None,
        "high": difference.high if known else None,
        "se": difference.se,
        "df": difference.df,
        "p": difference.p,
        "effect": difference.effect,
        "not_worse_p": None if margin is None else not_worse_p(difference, margin),
        "equivalence_p": None if margin is None else equivalence_p(difference, margin),
    }
