"""What is said to be true of the demo can be found in its files by simple means."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest
from scipy.stats import binomtest, linregress, ttest_rel

from stillroom.demo import truths
from stillroom.demo.specs import BOOK
from stillroom_schemas.units import conversions

Texts = dict[str, tuple[str, pl.DataFrame]]


@pytest.fixture(scope="module")
def sales(demo_texts: Texts) -> pl.DataFrame:
    """Readable till lines in force: business_date, spec (null if none), serves, net_amount."""
    day = pl.col("sold_at").str.to_datetime("%Y-%m-%d %H:%M:%S", strict=False).dt.offset_by("-6h").dt.date()
    lines = pl.concat(
        rows.with_columns(
            pl.lit(name).alias("file"),
            day.alias("business_date"),
            pl.col("quantity").cast(pl.Float64, strict=False),
            pl.col("net_amount").cast(pl.Float64, strict=False),
        )
        for name, (table, rows) in demo_texts.items()
        if table == "sale"
    ).drop_nulls(["business_date", "quantity", "net_amount"])
    superseded = pl.col("business_date").is_in(truths.CORRECTED_DAYS) & (pl.col("file") != truths.CORRECTED_FILE)
    match = demo_texts["match/till-match.csv"][1].select("till_item", "spec", pl.col("serves").cast(pl.Float64))
    lines = lines.filter(~superseded).join(match, on="till_item", how="left")
    return lines.with_columns(serves=pl.col("quantity") * pl.col("serves").fill_null(1))


@pytest.fixture(scope="module")
def served(sales: pl.DataFrame) -> pl.DataFrame:
    drinks = sales.filter(pl.col("spec").is_not_null())
    return drinks.group_by("spec", "business_date").agg(pl.sum("serves", "net_amount")).sort("business_date")


def test_evenings_are_of_a_believable_size(served: pl.DataFrame) -> None:
    nights = served.group_by("business_date").agg(pl.sum("serves"))["serves"]
    assert len(nights) == 77  # 13 weeks of six evenings, less one day shut
    assert 50 <= float(nights.min()) <= float(nights.max()) <= 160  # type: ignore[arg-type]
    assert 40_000 < served["net_amount"].sum() < 80_000


def test_drinks_come_and_go_in_mid_season(served: pl.DataFrame) -> None:
    days = {str(spec): rows["business_date"] for (spec,), rows in served.group_by("spec")}
    drink, first = truths.ADDED_MID_SEASON
    assert days[drink].min() == first
    drink, last = truths.TAKEN_OFF
    assert days[drink].max() == last
    assert all(days[spec].max() > date(2026, 11, 18) for spec in days if spec != drink)  # type: ignore[operator]


def test_the_spec_book_says_the_same_of_when_versions_serve() -> None:
    since = {(one.spec, one.version): one.since for one in BOOK.drinks}
    until = {(one.spec, one.version): one.until for one in BOOK.drinks}
    drink, day, _ = truths.LIFT
    assert (since[drink, 3], until[drink, 2]) == (day, day - timedelta(days=1))
    assert since[truths.ADDED_MID_SEASON[0], 1] == truths.ADDED_MID_SEASON[1]
    assert until[truths.TAKEN_OFF[0], 2] == truths.TAKEN_OFF[1]
    assert {one.since for one in BOOK.drinks} >= {truths.FIRST_DAY}
    assert any(one.spec == truths.NO_PRICE[1] for one in BOOK.preparations)


def test_the_new_version_lifted_sales(served: pl.DataFrame) -> None:
    """Share of all serves before and after, which leaves weekday and crowd aside."""
    drink, day, lift = truths.LIFT
    after = pl.col("business_date") >= day
    ours = pl.col("spec") == drink
    others = ~pl.col("spec").is_in([drink, truths.ADDED_MID_SEASON[0], truths.TAKEN_OFF[0]])
    a, b, c, d = (served.filter(which & when)["serves"].sum() for when in (after, ~after) for which in (ours, others))
    assert (a / b) / (c / d) == pytest.approx(lift, rel=0.15)


@pytest.mark.parametrize(("drink", "weekly"), [truths.RISING, truths.FALLING])
def test_rising_and_falling_drinks(served: pl.DataFrame, drink: str, weekly: float) -> None:
    weeks = served.filter(pl.col("spec") == drink).group_by_dynamic("business_date", every="1w").agg(pl.sum("serves"))
    slope = linregress(range(weeks.height), weeks["serves"].log().to_numpy())
    low, high = slope.slope - 3 * slope.stderr, slope.slope + 3 * slope.stderr
    assert low < pl.Series([weekly]).log().item() < high
    assert slope.pvalue < 0.01


def test_unmatched_spellings_were_sold(sales: pl.DataFrame) -> None:
    matched = {"BTL LAGER", "BTL PALE ALE", "OLIVES", "SALT NUTS", "FLATBREAD", "STILL WATER"}
    nameless = sales.filter(pl.col("spec").is_null() & ~pl.col("till_item").is_in(matched))
    counts = nameless.group_by("till_item").len()
    assert set(counts["till_item"]) == set(truths.UNMATCHED)
    assert counts["len"].min() >= 5  # type: ignore[operator]


# Costs: ingredient costs added up line by line, straight from the files, by a way of its own.


@pytest.fixture(scope="module")
def serve_costs(demo_texts: Texts) -> dict[tuple[str, str], float | None]:
    """(drink, version) -> cost of a serve at the first prices; None where a price is missing."""
    units = conversions()
    bought: dict[str, tuple[float | None, str, float]] = {}
    for row in demo_texts["prices/2026-08-17.csv"][1].iter_rows(named=True):
        base, factor = units[row["pack_unit"]]
        usable = float(row["pack_amount"]) * factor * float(row["usable_pct"] or 100) / 100
        cost = None if row["pack_cost"] is None else float(row["pack_cost"]) / usable
        bought[row["item"]] = (cost, base, float(row["density_g_ml"] or 1))
    specs = {(row["spec"], row["version"]): row for row in demo_texts["specs/specs.csv"][1].iter_rows(named=True)}
    current = {spec: version for (spec, version), row in sorted(specs.items()) if row["in_service_from"]}
    lines: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in demo_texts["specs/spec-lines.csv"][1].iter_rows(named=True):
        if row["unit"] in units:
            lines.setdefault((row["spec"], row["version"]), []).append(row)

    def making(spec: str, version: str) -> float | None:
        total = 0.0
        for line in lines[spec, version]:
            base, factor = units[line["unit"]]
            amount = float(line["amount"]) * factor
            item = line["item"]
            if item in bought:
                cost, per, density = bought[item]
                amount *= {("ml", "g"): density, ("g", "ml"): 1 / density}.get((base, per), 1.0)
            else:
                inner = making(item, current[item])
                cost = None if inner is None else inner / float(specs[item, current[item]]["yield_amount"])
            if cost is None:
                return None
            total += amount * cost
        return total

    return {key: making(*key) for key, row in specs.items() if row["kind"] == "drink" and key in lines}


def test_only_the_drink_with_the_unpriced_ingredient_has_no_cost(
    serve_costs: dict[tuple[str, str], float | None],
) -> None:
    assert {spec for (spec, _), cost in serve_costs.items() if cost is None} == {truths.NO_PRICE[2]}


def test_cost_is_a_sensible_share_of_the_price_before_tax(
    demo_texts: Texts, serve_costs: dict[tuple[str, str], float | None]
) -> None:
    for row in demo_texts["specs/specs.csv"][1].filter(pl.col("kind") == "drink").iter_rows(named=True):
        cost = serve_costs.get((row["spec"], row["version"]))
        if cost is not None:
            assert 0.18 < cost / (float(row["price"]) / 1.2) < 0.30, (row["spec"], row["version"], cost)


def test_the_drinks_that_earn_most_and_least(
    served: pl.DataFrame, serve_costs: dict[tuple[str, str], float | None]
) -> None:
    newest = {spec: cost for (spec, _), cost in sorted(serve_costs.items()) if cost is not None}
    earned = {}
    for (spec,), rows in served.group_by("spec"):
        if spec in newest:
            earned[str(spec)] = rows["net_amount"].sum() - rows["serves"].sum() * newest[str(spec)]
    ranked = sorted(earned, key=lambda spec: earned[spec])
    assert ranked[0] == truths.EARNS_LEAST
    assert ranked[-1] == truths.EARNS_MOST
    assert earned[ranked[-1]] > 1.05 * earned[ranked[-2]]
    assert 1.1 * earned[ranked[0]] < earned[ranked[1]]


# Batches


@pytest.fixture(scope="module")
def lost(demo_texts: Texts) -> pl.DataFrame:
    """preparation, share_lost: poured away by the events, of what was made."""
    batches = demo_texts["batches/batches.csv"][1]
    batches = batches.select("batch", "preparation", "made_on", made=pl.col("made_amount").cast(pl.Float64))
    events = demo_texts["batches/batch-events.csv"][1]
    poured = events.filter((pl.col("event") == "poured away") & (pl.col("unit") != "glug"))
    poured = poured.group_by("batch").agg(pl.col("amount").cast(pl.Float64).sum().alias("poured"))
    fates = batches.join(poured, on="batch", how="left")
    return fates.group_by("preparation").agg(share_lost=pl.col("poured").sum() / pl.col("made").sum())


def test_one_preparation_is_always_made_too_big(lost: pl.DataFrame) -> None:
    shares = dict(lost.iter_rows())
    assert 0.35 < shares.pop(truths.ALWAYS_TOO_BIG) < 0.45
    assert max(shares.values()) < 0.10


def test_two_batches_went_off_early(demo_texts: Texts) -> None:
    events = demo_texts["batches/batch-events.csv"][1].filter(pl.col("event") == "spoiled")
    batches = demo_texts["batches/batches.csv"][1]
    spoiled = events.join(batches, on="batch").with_columns(
        days=(pl.col("happened_on").str.to_date() - pl.col("made_on").str.to_date()).dt.total_days()
    )
    found = {(row["preparation"], int(row["batch"][-2:]), row["days"]) for row in spoiled.iter_rows(named=True)}
    assert found == set(truths.SPOILED)


def test_a_batch_on_hand_will_not_be_used_in_time(demo_texts: Texts, served: pl.DataFrame) -> None:
    batches = demo_texts["batches/batches.csv"][1].filter(pl.col("preparation") == truths.WILL_NOT_BE_USED)
    last = batches.row(-1, named=True)
    assert last["made_on"] == "2026-11-20"
    recent = served.filter((pl.col("spec") == "Pilot's Almond") & (pl.col("business_date") > date(2026, 10, 25)))
    a_day = 20 * recent["serves"].sum() / 28  # ml: each serve takes 20
    assert a_day * 13 < 0.6 * float(last["made_amount"])


def test_brix_drifts_off_target(demo_texts: Texts) -> None:
    preparation, day, by = truths.OFF_TARGET
    batches = demo_texts["batches/batches.csv"][1].filter(pl.col("preparation") == preparation)
    brix = batches.group_by(pl.col("made_on") >= str(day), maintain_order=True).agg(pl.col("brix").cast(float).mean())
    before, after = brix["brix"]
    assert after - before == pytest.approx(by, abs=0.8)


# The panel: SciPy's paired t test and exact binomial test.


def _paired(demo_texts: Texts, file: str, old: int, new: int) -> tuple[float, float, int]:
    sheet = demo_texts[f"tastings/{file}"][1].filter(pl.col("attribute") == "liking")
    wide = sheet.with_columns(pl.col("score").cast(float)).pivot("version", index="panelist", values="score")
    differences = wide.drop_nulls()
    result = ttest_rel(differences[str(new)], differences[str(old)])
    return (differences[str(new)] - differences[str(old)]).mean(), float(result.pvalue), differences.height  # type: ignore[return-value]


def test_the_better_version_is_better(demo_texts: Texts) -> None:
    _, old, new = truths.BETTER
    difference, p, panelists = _paired(demo_texts, "2026-09-29_ninth-buoy.csv", old, new)
    assert panelists == 14
    assert difference > 1
    assert p < 0.001


def test_the_other_new_version_is_not(demo_texts: Texts) -> None:
    _, old, new = truths.NOT_BETTER
    difference, p, panelists = _paired(demo_texts, "2026-10-13_smoked-pear-shrub.csv", old, new)
    assert panelists == 12
    assert difference < 0.5
    assert p > 0.05


def test_nobody_tells_the_cheaper_version(demo_texts: Texts) -> None:
    answers = demo_texts["trials/2026-10-20_toasted-almond-syrup.csv"][1]["correct"].drop_nulls()
    assert binomtest((answers == "yes").sum(), len(answers), 1 / 3, alternative="greater").pvalue > 0.05


def test_guests_prefer_the_better_version(demo_texts: Texts) -> None:
    chosen = demo_texts["trials/2026-09-30_ninth-buoy.csv"][1]["chosen"]
    assert binomtest((chosen == "b").sum(), len(chosen), 0.5).pvalue < 0.01


def test_one_panelist_was_away_once(demo_texts: Texts) -> None:
    present = demo_texts["tastings/2026-10-13_smoked-pear-shrub.csv"][1]["panelist"].unique()
    assert "P07" not in set(present)
    assert {"P06", "P08"} <= set(present)
