"""The tasting panel's sheets, and two difference tests."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from stillroom.demo.model import Row
from stillroom.demo.truths import BETTER, NO_DIFFERENCE, NOT_BETTER

ATTRIBUTES: Final = ("liking", "sweetness", "sourness", "aroma", "balance")
PANEL: Final = tuple(f"P{n:02d}" for n in range(1, 15))
PANELIST_SD: Final = 0.8
NOISE_SD: Final = 0.75
SHEET_HEADINGS: Final = {"session": "sitting", "tasted_on": "date", "panelist": "taster", "score": "mark"}
"""Column of the table -> heading on the demo's tasting sheets, where it differs."""


@dataclass(frozen=True, kw_only=True)
class Sitting:
    """One tasting: what was poured, and what the panel truly thinks of it on average."""

    day: date
    spec: str
    panelists: tuple[str, ...]
    truth: Mapping[int, tuple[float, ...]]
    """Version -> mean score of each attribute."""
    replicates: int = 1
    just_about_right: tuple[str, ...] = ()
    """Attributes asked as 1 (too little) to 5 (too much)."""

    @property
    def slug(self) -> str:
        """The name of its file."""
        return f"{self.day}_{self.spec.lower().replace(' ', '-')}"


SITTINGS: Final = (
    Sitting(
        day=date(2026, 9, 15),
        spec=NOT_BETTER[0],
        panelists=PANEL[:10],
        truth={1: (5.6, 6.4, 6.0, 5.0, 5.5), 2: (6.6, 5.9, 5.9, 6.4, 6.3)},
    ),
    Sitting(
        day=date(2026, 9, 29),
        spec=BETTER[0],
        panelists=PANEL,
        truth={1: (5.2, 4.6, 6.6, 5.4, 5.0), 2: (5.3, 5.2, 6.2, 5.6, 5.4), 3: (7.3, 5.5, 5.2, 6.6, 6.8)},
    ),
    Sitting(
        day=date(2026, 10, 13),
        spec=NOT_BETTER[0],
        panelists=PANEL[:6] + PANEL[7:13],  # P07 was ill
        truth={2: (6.6, 5.9, 5.9, 6.4, 6.3), 3: (6.4, 5.4, 5.5, 6.9, 6.0)},
    ),
    Sitting(
        day=date(2026, 10, 27),
        spec="Low Water Mark",
        panelists=PANEL[1:13],
        truth={1: (5.6, 2.1, 6.4, 5.6, 5.3), 2: (6.2, 2.8, 5.8, 5.9, 6.1), 3: (6.1, 3.8, 5.0, 5.9, 5.8)},
        just_about_right=("sweetness",),
    ),
    Sitting(
        day=date(2026, 11, 10),
        spec=NO_DIFFERENCE[0],
        panelists=PANEL[2:10],
        truth={1: (6.5, 6.4, 2.4, 6.3, 6.2), 2: (6.5, 6.4, 2.4, 6.3, 6.2)},
        replicates=2,
    ),
)


def tasting_files(rng: np.random.Generator) -> dict[str, list[Row]]:
    """A sheet for each sitting, by file name."""
    habits = {(p, a): float(rng.normal(0, PANELIST_SD)) for p in PANEL for a in ATTRIBUTES}
    return {f"tastings/{sitting.slug}.csv": _sheet(sitting, habits, rng) for sitting in SITTINGS}


def _sheet(sitting: Sitting, habits: Mapping[tuple[str, str], float], rng: np.random.Generator) -> list[Row]:
    samples = [(version, replicate) for version in sitting.truth for replicate in range(1, sitting.replicates + 1)]
    codes = rng.choice(np.arange(101, 999), len(samples), replace=False)
    rows: list[Row] = []
    order = samples
    for number, panelist in enumerate(sitting.panelists):
        # every second panelist tastes in the opposite order of the one before
        order = order[::-1] if number % 2 else [samples[int(i)] for i in rng.permutation(len(samples))]
        for position, (version, replicate) in enumerate(order, 1):
            for attribute, mean in zip(ATTRIBUTES, sitting.truth[version], strict=True):
                asked_right = attribute in sitting.just_about_right
                spread = 0.3 if asked_right else 1.0
                felt = mean + spread * (habits[panelist, attribute] + rng.normal(0, NOISE_SD))
                low, high = (1, 5) if asked_right else (1, 9)
                rows.append(
                    {
                        "sitting": f"{sitting.day} {sitting.spec}",
                        "date": sitting.day,
                        "taster": panelist,
                        "spec": sitting.spec,
                        "version": version,
                        "attribute": attribute,
                        "mark": int(np.clip(round(felt), low, high)),
                        "scale_low": low,
                        "scale_high": high,
                        "scale_kind": _scale_kind(attribute, asked_right),
                        "position": position,
                        "code": int(codes[samples.index((version, replicate))]),
                        "replicate": replicate if sitting.replicates > 1 else None,
                    }
                )
    return rows


def _scale_kind(attribute: str, asked_right: bool) -> str:
    if asked_right:
        return "just-about-right"
    return "liking" if attribute == "liking" else "intensity"


def trial_files(rng: np.random.Generator) -> dict[str, list[Row]]:
    """A triangle test where nobody can tell, and a paired preference with a clear winner."""
    triangle = [
        _answer(date(2026, 10, 20), guest, "triangle", NO_DIFFERENCE, correct="yes" if rng.random() < 1 / 3 else "no")
        for guest in range(1, 25)
    ]
    preference = [
        _answer(
            date(2026, 9, 30), guest, "paired-preference", BETTER, chosen=str(rng.choice(["a", "b"], p=[0.15, 0.85]))
        )
        for guest in range(1, 31)
    ]
    return {
        "trials/2026-10-20_toasted-almond-syrup.csv": triangle,
        "trials/2026-09-30_ninth-buoy.csv": preference,
    }


def _answer(
    day: date,
    guest: int,
    method: str,
    versions: tuple[str, int, int],
    correct: str | None = None,
    chosen: str | None = None,
) -> Row:
    spec, old, new = versions
    return {
        "session": f"{day} {spec}",
        "tasted_on": day,
        "panelist": f"G{guest:02d}",
        "method": method,
        "spec": spec,
        "version_a": old,
        "version_b": new,
        "correct": correct,
        "chosen": chosen,
    }
