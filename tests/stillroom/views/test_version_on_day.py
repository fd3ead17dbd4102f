"""The version in service on every day, as the view tells it and as the analyses do: one rule."""

from __future__ import annotations

import random
from datetime import date, timedelta
from pathlib import Path

from house_builder import ask, good, make_house, put, take_in
from stillroom.analysis.specs.service import in_service

FIRST = date(2026, 3, 1)
DAYS = 40


def some_day(rng: random.Random) -> date | None:
    return FIRST + timedelta(days=rng.randrange(-10, DAYS + 10, 5)) if rng.random() < 0.7 else None


def test_the_view_and_the_analyses_choose_alike(tmp_path: Path) -> None:
    rng = random.Random(4)
    spans: dict[str, list[tuple[date | None, date | None]]] = {}
    for number in range(80):
        spans[f"drink {number}"] = [
            (start, until) if start is None or until is None or start <= until else (until, start)
            for start, until in ((some_day(rng), some_day(rng)) for _ in range(rng.randint(1, 4)))
        ]
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [
        good("spec", spec=spec, version=version, in_service_from=span[0] or "", in_service_until=span[1] or "")
        for spec, several in spans.items() for version, span in enumerate(several, 1)
    ])  # fmt: skip
    days = [FIRST + timedelta(days=number) for number in range(DAYS)]
    put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"{day} 20:00") for day in days])
    take_in(house)
    found = ask(house, "SELECT name_key, day, version FROM version_on_day ORDER BY ALL")
    assert found == sorted((spec, day, in_service(several, day) + 1) for spec, several in spans.items() for day in days)
