"""A season's figures on small houses with known answers."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from stillroom.analysis.menu.season import season_figures
from store_frames import frame

FIRST = date(2026, 8, 24)  # a Monday
LAST = FIRST + timedelta(days=13 * 7 - 1)
COSTS = frame(
    "spec_cost",
    [(name, 1, FIRST, 3.0, 3.0, None) for name in ("Steady", "Rising", "New")],
    "spec version priced_from cost cost_known missing",
)
SPECS = frame(
    "current_spec",
    [
        ("Steady", "drink", FIRST, None),
        ("Rising", "drink", FIRST, None),
        ("New", "drink", FIRST + timedelta(days=63), None),
        ("Unsold", "drink", FIRST, None),
    ],
    "spec kind in_service_from in_service_until",
)


def house() -> pl.DataFrame:
    rows = []
    for day in range(91):
        week, weekday = divmod(day, 7)
        if weekday == 0:
            continue  # closed on Mondays
        busy = 2 if weekday >= 4 else 1
        rows.append(("here", FIRST + timedelta(days=day), "Steady", 1, 10.0 * busy, 100.0 * busy))
        rows.append(("here", FIRST + timedelta(days=day), "Rising", 1, (4.0 + week) * busy, (4.0 + week) * busy * 12))
        if week >= 9:
            rows.append(("here", FIRST + timedelta(days=day), "New", 1, 8.0 * busy, 80.0 * busy))
    return frame("daily_serves", rows, "venue business_date spec version serves net_amount")


def test_known_truths_of_a_season() -> None:
    found = season_figures(house(), SPECS, COSTS, FIRST, LAST)
    rows = {row["spec"]: row for row in found.drinks.iter_rows(named=True)}
    assert found.open_days == 78
    assert (rows["Steady"]["days"], rows["New"]["days"]) == (78, 24)
    assert rows["New"]["part_season"]
    assert not rows["Steady"]["part_season"]
    # 13 weeks of 6 open days, of which three are busy: 9 x 10 a week
    assert rows["Steady"]["serves"] == 13 * 90
    assert rows["Steady"]["going"] == "no clear trend"
    assert rows["Steady"]["change"] == pytest.approx(0, abs=1e-3)
    assert rows["Rising"]["going"] == "rising"
    assert rows["New"]["going"] == "cannot tell"
    assert rows["Rising"]["contribution"] == pytest.approx(9)
    assert rows["Unsold"]["serves"] == 0
    assert not rows["Unsold"]["sells_well"]
    assert (rows["Unsold"]["does"], rows["Unsold"]["total_contribution"]) == ("sold nothing", 0)
    # Of all that was sold the new drink has little, per day on the menu it has its due.
    assert rows["New"]["share"] < rows["New"]["share_mark"] < rows["New"]["daily_share"]
    assert found.drinks["serves"].sum() == house()["serves"].sum()


def test_no_sales_at_all() -> None:
    found = season_figures(house().clear(), SPECS, COSTS, FIRST, LAST)
    assert found.open_days == 0
    assert found.average_contribution is None
    assert found.drinks["serves"].sum() == 0
    nothing = season_figures(house().clear(), SPECS.clear(), COSTS.clear(), FIRST, LAST)
    assert nothing.drinks.is_empty()


def test_a_drink_lifted_by_its_new_version_is_told_to_have_stepped_then() -> None:
    generator = np.random.default_rng(4)
    rows = []
    for day in range(91):
        for name, mean in (("Steady", 10.0), ("Rising", 14.0 if day >= 45 else 8.0)):
            serves = float(generator.poisson(mean))
            rows.append(("here", FIRST + timedelta(days=day), name, 1, serves, 12 * serves))
    sold = pl.DataFrame(rows, schema=house().schema, orient="row")
    second = pl.DataFrame([("Rising", "drink", FIRST + timedelta(days=45), None)], schema=SPECS.schema, orient="row")
    found = season_figures(sold, pl.concat([SPECS, second]), COSTS, FIRST, LAST)
    row = found.drinks.filter(pl.col("spec") == "Rising").row(0, named=True)
    assert (row["going"], row["change"], row["step_known"]) == ("stepped up", None, True)
    # The new version came on a Thursday: its level shows in that week or from the next one on.
    assert row["step_week"] in (FIRST + timedelta(days=42), FIRST + timedelta(days=49))
    assert row["step_low"] < 14 / 8 < row["step_high"]


@pytest.mark.parametrize(("steady", "with_house"), [(0.5, True), (1.0, False)])
@pytest.mark.parametrize("slopes", [True, False])
def test_a_drink_that_falls_as_the_whole_house_does_is_told_so(steady, slopes, with_house) -> None:
    rows = []
    for day in range(91):
        past = day / 91 if slopes else float(day >= 49)
        for name, mean, end in (("Rising", 20.0, 0.5), ("Steady", 60.0, steady), ("New", 60.0, steady)):
            serves = round(mean * end**past) + (day % 3) - 1.0
            rows.append(("here", FIRST + timedelta(days=day), name, 1, serves, 12 * serves))
    sold = pl.DataFrame(rows, schema=house().schema, orient="row")
    found = season_figures(sold, SPECS.head(2), COSTS, FIRST, LAST)
    row = found.drinks.filter(pl.col("spec") == "Rising").row(0, named=True)
    assert row["going"] == ("falling" if slopes else "stepped down")
    assert row["with_house"] is with_house
