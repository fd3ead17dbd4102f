"""A small house with known answers, for tests of what to rework and what to keep."""

from datetime import date, timedelta

import numpy as np

from spec_frames import spec_views
from stillroom.analysis.batches.waste import FATES
from stillroom.objects import HouseFacts, Period, ReportInputs
from store_frames import frame

FIRST = date(2026, 8, 24)
LAST = FIRST + timedelta(days=90)
PERIOD = Period(first=FIRST, last=LAST, label="autumn")
USE = "venue business_date preparation used_by amount unit"
SPEC = "spec version kind in_service_from in_service_until"


def inputs() -> ReportInputs:
    generator = np.random.default_rng(4)
    drinks = {"Dear Sour": (15, 8.0, 6.0), "Good Fizz": (20, 11.0, 2.0), "Gone Flip": (1, 8.0, 6.0)}
    sold = [
        ("bar", FIRST + timedelta(days=day), name, 1, float(serves), serves * price, 3)
        for day in range(91)
        for name, (mean, price, _) in drinks.items()
        if (serves := generator.poisson(mean)) and not (name == "Gone Flip" and day > 50)
    ]
    specs = [(name, 1, "drink", FIRST, FIRST + timedelta(days=50) if name == "Gone Flip" else None) for name in drinks]
    specs += [("Good Fizz", 2, "drink", None, None), ("Shrub", 1, "preparation", FIRST, None)]
    batches = []
    for n in range(10):
        made = FIRST + timedelta(days=7 * n)
        until = made + timedelta(days=6)
        lost = 400.0 - 5 * n
        told = {"batch": f"S{n}", "venue": "bar", "preparation": "Shrub", "version": 1, "made_on": made}
        told |= {"use_by": until, "made": 1000.0, "unit": "ml"}
        told |= {**dict.fromkeys(FATES, 0.0), "used": 1000.0 - lost, "poured_away": lost}
        batches.append(told | {"ended_on": until, "cost_made": 10.0, "cost_lost": lost / 100, "last_day": LAST})
    days = [FIRST + timedelta(days=number) for number in range(91)]
    use = [("bar", day, "Shrub", "Dear Sour", 90.0, "ml") for day in days]
    tasted = FIRST + timedelta(days=30)
    scores = [
        ("s1", tasted, f"P{p}", "Good Fizz", version, "overall", score, 1.0, 9.0, "liking", None, None, None, None)
        for p in range(10)
        for version, score in ((1, 4.0 + p % 3), (2, 6.0 + p % 3 + 0.5 * (p % 2)))
    ]
    costs = [(name, 1, FIRST, cost, cost, None) for name, (_, _, cost) in drinks.items()]
    frames = {
        "daily_serves": frame("daily_serves", sold),
        **spec_views(frame("current_spec", specs, SPEC), "current_spec", "version_span"),
        "spec_cost": frame("spec_cost", costs, "spec version priced_from cost cost_known missing"),
        "batch_fate": frame("batch_fate", batches),
        "preparation_use": frame("preparation_use", use, USE),
        "panel_scores": frame("panel_scores", scores),
    }
    return ReportInputs(frames=frames, period=PERIOD, house=HouseFacts(name="Test", currency="EUR"))
