"""The menu rules against published tables."""

import polars as pl
import pytest

from stillroom.analysis.menu.mix import average_contribution, menu_mix

WELL, LITTLE = "sells well, earns well", "sells little, earns little"
WELL_LITTLE, LITTLE_WELL = "sells well, earns little", "sells little, earns well"

# Eleven-item table of teaching slides to Dittmer & Keefe, ch. 11: item, sold, price, cost; classes by its rule.
PASTA = [
    ("Rigatoni", 1188, 15.95, 4.33, WELL),
    ("Risotto", 804, 15.95, 3.29, WELL),
    ("Tortellini", 1029, 14.50, 4.30, WELL_LITTLE),
    ("Gnocchi", 473, 13.95, 3.24, LITTLE),
    ("Mushroom ravioli", 616, 14.50, 4.29, WELL_LITTLE),  # 6.438 %: just over 6.364 %
    ("Lasagna", 1099, 14.95, 4.05, WELL_LITTLE),
    ("Ravioli pomodoro", 758, 12.95, 4.24, WELL_LITTLE),
    ("Fettuccine", 738, 14.95, 3.84, WELL_LITTLE),  # 11.11: the simple mean, below the weighted 11.218
    ("Cavatappi al forno", 872, 16.95, 4.31, WELL),
    ("Radiatore", 349, 14.95, 3.50, LITTLE_WELL),
    ("Cavatappi toscana", 1642, 15.50, 3.50, WELL),
]
# Ten-item example usually attributed to Kasavana & Smith 1982 (inputs from memory); fried shrimp sells exactly 7 %.
DINNER = [
    ("Fried shrimp", 210, 7.95, 4.85, WELL_LITTLE),
    ("Fried chicken", 420, 4.95, 2.21, WELL_LITTLE),
    ("Chopped sirloin", 90, 4.50, 1.95, LITTLE),
    ("Prime rib", 600, 7.95, 4.95, WELL_LITTLE),
    ("King prime rib", 60, 9.95, 5.65, LITTLE_WELL),
    ("NY strip", 360, 8.50, 4.50, WELL),
    ("Top sirloin", 510, 7.95, 4.30, WELL),
    ("Red snapper", 240, 6.95, 3.95, WELL_LITTLE),
    ("Lobster tail", 150, 9.50, 4.95, LITTLE_WELL),
    ("Tenderloin tips", 360, 6.45, 4.00, WELL_LITTLE),
]


def table(rows: list[tuple[str, int, float, float, str]]) -> pl.DataFrame:
    return pl.DataFrame(
        {
            "item": [row[0] for row in rows],
            "sold": [float(row[1]) for row in rows],
            "days": [91.0] * len(rows),
            "contribution": [round(row[2] - row[3], 2) for row in rows],
            "expected": [row[4] for row in rows],
        }
    )


@pytest.mark.parametrize("rows", [PASTA, DINNER])
def test_classes_of_the_published_tables(rows: list[tuple[str, int, float, float, str]]) -> None:
    found = menu_mix(table(rows))
    assert found["does"].to_list() == found["expected"].to_list()


def test_totals_of_the_eleven_item_table() -> None:
    found = menu_mix(table(PASTA))
    assert found["sold"].sum() == 9568
    assert found["total_contribution"].sum() == pytest.approx(107_336.78, abs=0.005)
    average = average_contribution(found)
    assert average is not None
    assert float(average) == pytest.approx(11.2183, abs=5e-5)
    shares = dict(zip(found["item"], found["share"], strict=True))
    assert shares["Mushroom ravioli"] == pytest.approx(0.06438, abs=5e-6)


def test_average_of_the_ten_item_table() -> None:
    average = average_contribution(table(DINNER))
    assert average is not None
    assert float(average) == pytest.approx(3.2251, abs=5e-5)


@pytest.mark.parametrize(("items", "mark"), [(8, 0.0875), (10, 0.07), (11, 0.063636), (20, 0.035)])
def test_popularity_mark_of_dittmer_and_keefe(items: int, mark: float) -> None:
    rows = [(f"item {n}", 5, 10.0, 2.0, "") for n in range(items)]
    assert menu_mix(table(rows))["share_mark"][0] == pytest.approx(mark, abs=1e-6)


def test_share_of_dittmer_and_keefe_figure() -> None:
    # Fig. 11.1: 252 of 2,635 sold = 9.564 %, 207 of 2,635 = 7.856 %
    rows = [("a", 252, 2.0, 1.0, ""), ("b", 207, 2.0, 1.0, ""), ("rest", 2635 - 252 - 207, 2.0, 1.0, "")]
    assert menu_mix(table(rows))["share"].to_list()[:2] == pytest.approx([0.09564, 0.07856], abs=5e-6)


def test_part_of_the_season_is_compared_per_day_on_the_menu() -> None:
    frame = pl.DataFrame(
        {
            "item": ["all season", "half a season", "short of it"],
            "sold": [910.0, 455.0, 100.0],
            "days": [91.0, 45.5, 91.0],
            "contribution": [8.0, 8.0, 8.0],
        }
    )
    found = menu_mix(frame)
    assert found["daily_share"][0] == pytest.approx(found["daily_share"][1])
    assert found["sells_well"].to_list() == [True, True, False]
    assert found["earns_well"].to_list() == [True, True, True]  # all exactly on the average


def test_equal_contributions_are_equal_whatever_their_last_digits() -> None:
    # All are 8.10, and so is their average: all have reached it.
    contributions = [8.1, 3 * 2.7, 8.1, 3 * 2.7]
    assert len(set(contributions)) > 1
    frame = pl.DataFrame({"item": list("abcd"), "sold": [3.0, 7, 11, 13], "days": [7.0] * 4})
    assert menu_mix(frame.with_columns(contribution=pl.Series(contributions)))["earns_well"].to_list() == [True] * 4
    # 2.8 less 2.1 taken back, beside 1.3: exactly 70 % of an equal share, which is one.
    sold = [2.8 - 2.1, 1.3]
    edge = pl.DataFrame({"item": ["on the mark", "rest"], "sold": sold, "days": [7.0] * 2, "contribution": [1.0, 1.0]})
    assert sold[0] < 0.7
    assert menu_mix(edge)["sells_well"].to_list() == [True, True]


def test_without_costs_only_popularity_is_said() -> None:
    frame = pl.DataFrame(
        {"item": ["a", "b"], "sold": [9.0, 1.0], "days": [7.0, 7.0], "contribution": [None, None]},
        schema_overrides={"contribution": pl.Float64},
    )
    found = menu_mix(frame)
    assert found["does"].to_list() == ["sells well, contribution not known", "sells little, contribution not known"]
    assert found["total_contribution"].null_count() == 2


def test_nothing_sold_and_no_items() -> None:
    frame = table([("a", 0, 9.0, 1.0, ""), ("b", 0, 9.0, 1.0, "")])
    assert menu_mix(frame)["share"].null_count() == 2
    assert not menu_mix(frame)["sells_well"].any()
    assert menu_mix(frame.clear()).is_empty()
