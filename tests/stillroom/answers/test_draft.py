"""A draft beside today's version: lines changed, aims met, and what it does to the drinks that use it."""

from __future__ import annotations

import pytest

import stillroom
from house_builder import command, good, make_house, put
from stillroom.analysis.bench.edits import Edit
from stillroom.answers.draft.batch import correction_text
from stillroom.errors import UsageError

PRICES = [
    {"item": "white sugar", "pack_amount": 1000, "pack_unit": "g", "pack_cost": 2, "sugar_pct": 100},
    {"item": "honey", "pack_amount": 1000, "pack_unit": "g", "pack_cost": 10, "sugar_pct": 80, "allergens": "honey"},
    {"item": "citric acid", "pack_amount": 100, "pack_unit": "g", "pack_cost": 3, "acid_pct": 100},
    {"item": "lemon juice", "pack_amount": 1000, "pack_unit": "g", "pack_cost": 5, "sugar_pct": 2.5, "acid_pct": 4.7,
     "density_g_ml": 1.03},
    {"item": "gin", "pack_amount": 700, "pack_unit": "ml", "pack_cost": 21, "abv_pct": 40},
]  # fmt: skip
PRICES += [
    {"item": "pear juice", "pack_amount": 1000, "pack_unit": "g", "pack_cost": 4, "sugar_pct": 10, "sugar_low": 8,
     "sugar_high": 12, "acid_pct": 1, "acid_kind": "malic", "density_g_ml": 1.04},
    {"item": "malic acid", "pack_amount": 100, "pack_unit": "g", "pack_cost": 3, "acid_pct": 100, "acid_kind": "malic"},
]  # fmt: skip
BATCHES = [
    good("batch", batch=f"SS-{n}", preparation="sweet-sour", made_amount=1000, made_unit="g", brix=brix, ph=ph)
    for n, brix, ph in ((1, 45.0, 2.9), (2, "", 2.5), (3, 51.0, 2.6))
]
SPECS = [
    good("spec", spec="sweet-sour", kind="preparation", yield_amount=1000, yield_unit="g", keeps_days=7),
    good("spec", spec="Harbour Sour", kind="drink", yield_amount=1, yield_unit="serve", method="shaken"),
    good("spec", spec="Double", kind="preparation", yield_amount=500, yield_unit="g"),
    good("spec", spec="Long Sour", kind="drink", yield_amount=1, yield_unit="serve"),
]
LINES = [
    good("spec_line", spec="sweet-sour", line=1, item="white sugar", amount=500, unit="g"),
    good("spec_line", spec="sweet-sour", line=2, item="water", amount=490, unit="g"),
    good("spec_line", spec="sweet-sour", line=3, item="citric acid", amount=10, unit="g"),
    good("spec_line", spec="Harbour Sour", line=1, item="gin", amount=50, unit="ml"),
    good("spec_line", spec="Harbour Sour", line=2, item="sweet-sour", amount=30, unit="g"),
    good("spec_line", spec="Double", line=1, item="sweet-sour", amount=500, unit="g"),
    good("spec_line", spec="Long Sour", line=1, item="Double", amount=20, unit="g"),
]
SALES = [good("sale", sold_at=f"2026-03-{day:02d} 20:00", till_item="Harbour Sour", quantity=4) for day in range(1, 29)]


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    folder = make_house(tmp_path_factory.mktemp("bench") / "house").folder
    for table, rows in {
        "spec": SPECS,
        "spec_line": LINES,
        "ingredient": PRICES,
        "sale": SALES,
        "batch": BATCHES,
    }.items():
        put(folder, f"{table}/{table}.csv", rows)
    opened = stillroom.open(folder)
    assert {outcome.status for outcome in opened.intake()} == {"landed"}
    return opened


def amounts(sheet):
    return {line.item: line.amount for line in sheet.lines}


def test_changed_lines_stand_beside_todays(house):
    found = house.draft(
        "sweet-sour",
        edits=[
            Edit(kind="set", text="citric acid=12 g"),
            Edit(kind="scale", text="White Sugar = 90 %"),
            Edit(kind="swap", text="water=lemon juice"),
        ],
    )
    assert amounts(found.before) == {"white sugar": 500, "water": 490, "citric acid": 10}
    assert amounts(found.after) == {"white sugar": 450, "lemon juice": 490, "citric acid": 12}
    # By hand: 450 x 0.002 + 490 x 0.005 + 12 x 0.03.
    assert found.after.cost.whole == pytest.approx(0.9 + 2.45 + 0.36)
    # By hand: 450 + 2.5 % of 490 of sugar in 952 g.
    assert found.after.served.brix == pytest.approx(100 * (450 + 12.25) / 952)


def test_every_drink_that_uses_it_follows_at_any_depth(house):
    found = house.draft("sweet-sour", edits=[Edit(kind="swap", text="white sugar=honey")])
    saved = {one.drink: (one.serves_a_week, one.a_season) for one in found.drinks}
    # By hand: 500 g of honey cost 4.00 more a making of 1 000 g; 30 g of it 0.12 a serve; 28 serves a week, 13 weeks.
    assert saved["Harbour Sour"] == (28.0, pytest.approx(-0.12 * 28 * 13))
    assert saved["Long Sour"] == (0.0, 0.0)
    assert all("honey" in one.after.allergens and "honey" not in one.before.allergens for one in found.drinks)


def test_the_store_says_afterwards_what_it_said_before(house):
    views = ("spec_cost", "spec_parts", "current_spec_line", "spec_density")
    before = [house.view(view) for view in views]
    house.draft("sweet-sour", edits=[Edit(kind="drop", text="citric acid")])
    assert all(house.view(view).equals(was) for view, was in zip(views, before, strict=True))


def test_aims_are_met_with_what_may_change_and_nothing_else_moves(house):
    found = house.draft("sweet-sour", aims=["brix=40", "acid=2 %"], free=["white sugar", "water", "citric acid"])
    assert all(one.met for one in found.aims)
    assert found.after.served.brix == pytest.approx(40, rel=0.01)
    assert found.after.makes == pytest.approx(1000, rel=0.01)  # as much comes out as before
    only_acid = house.draft("sweet-sour", aims=["acid=2 %"], free=["citric acid"])
    assert amounts(only_acid.after) == {"white sugar": 500, "water": 490, "citric acid": 20.0}


def test_a_new_item_comes_in_with_its_cost(house):
    found = house.draft("sweet-sour", aims=["acid=1.5 %"], free=["lemon juice", "water"])
    assert amounts(found.after)["lemon juice"] == pytest.approx(found.exact["lemon juice"], abs=5)
    # By hand: x g of 4.7 % juice in place of water: 10 + 0.047 x = 15.
    assert found.exact["lemon juice"] == pytest.approx(5 / 0.047, rel=0.02)
    assert found.after.cost.whole == pytest.approx(1.3 + 0.005 * amounts(found.after)["lemon juice"])


def test_as_sour_as_something_else(house):
    found = house.draft("sweet-sour", aims=["acid=as lemon juice"], free=["citric acid", "water"])
    assert found.aims[0].aim.value == pytest.approx(4.7)
    assert found.aims[0].value == pytest.approx(4.7, rel=0.01)


def test_bounds_hold_and_aims_at_odds_are_named(house):
    found = house.draft("sweet-sour", aims=["brix=70", "acid=1 %"], free=["white sugar=400..600 g", "citric acid"])
    assert [aim.text for aim in found.at_odds] == ["brix=70"]
    assert amounts(found.after)["white sugar"] == 600
    assert not found.aims[0].met


@pytest.mark.parametrize(
    ("edits", "says"),
    [
        ([("drop", "mint")], "there is no 'mint' in sweet-sour, version 1"),
        ([("set", "citric acd=4 g")], "Did you mean 'citric acid'"),
        ([("set", "citric acid=4 each")], "no way from that to each"),
        ([("set", "citric acid=much")], "is not an amount"),
        ([("scale", "citric acid=0 %")], "must be above 0"),
        ([("add", "water=5 g")], "is in sweet-sour, version 1 already"),
        ([("swap", "water=Double")], "Double is made with sweet-sour: it cannot go into it"),
        ([("drop", "water"), ("drop", "white sugar"), ("drop", "citric acid")], "Nothing would be left"),
    ],
)
def test_a_change_that_cannot_be_is_one_sentence(house, edits, says):
    with pytest.raises(UsageError, match=says):
        house.draft("sweet-sour", edits=[Edit(kind=kind, text=text) for kind, text in edits])


@pytest.mark.parametrize(
    ("free", "says"),
    [
        ("Double", "Double is made with sweet-sour: it cannot go into it"),
        ("white sugar=600..400 g", "the least is above the most"),
        ("white sugar=600 g", "write the bounds like"),
        ("dried kelp", "the price list and the spec book hold no such item"),
    ],
)
def test_what_may_not_change_is_one_sentence(house, free, says):
    with pytest.raises(UsageError, match=says):
        house.draft("sweet-sour", aims=["brix=40"], free=[free])


def test_on_a_terminal(house):
    folder = house.settings.folder
    said = command("draft", "sweet-sour", "--aim", "brix=40", "--with", "white sugar,water", house=folder)
    assert said.code == 0
    assert "aim met" in said.out
    assert "Keeping: not tested. Keep the draft as the shorter" in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    values = command("draft", "sweet-sour", "--scale", "white sugar=50 %", "--json", house=folder).json
    assert values["draft"]["lines"][0] == {"item": "white sugar", "amount": 250.0, "unit": "g"}
    wrong = command("draft", "sweet-sour", "--aim", "ph=3", house=folder)
    assert (wrong.code, wrong.err.count("\n")) == (2, 1)


def test_what_is_left_of_a_serve_follows(house):
    found = house.draft("Harbour Sour", edits=[Edit(kind="set", text="gin=60 ml")])
    # By hand: 10 ml of gin cost 0.30; the till's lines took 9.00 for 4 serves, 2.25 net each.
    assert found.before.taken == pytest.approx(2.25)
    assert found.before.left - found.after.left == pytest.approx(0.30)


def test_cautions_and_allergens_come_and_go(house):
    honey = house.draft("sweet-sour", edits=[Edit(kind="swap", text="white sugar=honey")])
    come = {one.title for one in honey.cautions.come}
    assert "Allergens" in come
    assert all("Allergens" in {two.title for two in one.cautions.come} for one in honey.drinks)
    as_it_is = house.draft("sweet-sour")
    assert (as_it_is.cautions.come, as_it_is.cautions.gone) == ((), ())
    assert "Allergens" not in {one.title for one in as_it_is.cautions.stay}


def test_acid_by_kind_and_ranges_are_carried_into_the_aim(house):
    found = house.draft("sweet-sour", edits=[Edit(kind="swap", text="water=pear juice")], aims=["brix=55"],
                        free=["white sugar", "pear juice"])  # fmt: skip
    [aim] = found.aims
    juice = amounts(found.after)["pear juice"]
    whole = found.after.served.mass_g
    # By hand: the juice has 2 g of sugar less or more in 100 g.
    assert aim.ends == (pytest.approx(aim.value - 2 * juice / whole), pytest.approx(aim.value + 2 * juice / whole))
    assert found.after.served.malic_g_100ml * found.after.served.volume_ml / 100 == pytest.approx(0.01 * juice)


def test_a_juice_as_sour_as_another_by_any_acid(house):
    """By hand: 3.7 g of citric acid more in 100 g are 3.7 x 1.0468 g of malic (67.045 / 64.04 by equivalents)."""
    made = [Edit(kind="swap", text="white sugar=pear juice"), Edit(kind="drop", text="water"),
            Edit(kind="drop", text="citric acid")]  # fmt: skip
    found = house.draft("sweet-sour", edits=made, aims=["acid=as lemon juice", "volume>=0"], free=["malic acid"])
    malic = found.exact["malic acid"]
    assert (malic + 5) / (500 + malic) == pytest.approx(0.047 * 67.045 / 64.04, rel=1e-3)


def test_a_batch_is_brought_to_its_target(house):
    found = house.correct_batch("sweet-sour", "ss-1")
    # By hand: 500 g of sugar and 10 of acid in 1 000 g show 51 °Brix; M (51 - 45) / (100 - 51).
    assert (found.target, found.usual_ph) == (pytest.approx(51.0), (pytest.approx(2.55), 2))
    [sugar] = found.additions
    assert (sugar.item, sugar.grams) == ("white sugar", pytest.approx(1000 * 6 / 49))
    said = " ".join(correction_text(found).split())
    assert "pH is not acid" in said
    assert "no safety process" in said
    [water] = house.correct_batch("sweet-sour", "SS-3", aims=["brix=40"]).additions
    assert (water.item, water.grams) == ("water", pytest.approx(1000 * 11 / 40))
    assert "nothing to add" in correction_text(house.correct_batch("sweet-sour", "SS-3"))


@pytest.mark.parametrize(
    ("spec", "batch", "aims", "items", "says"),
    [
        ("sweet-sour", "SS-9", [], [], "the batch book has no such batch of sweet-sour"),
        ("Double", "SS-1", [], [], "it is one of sweet-sour"),
        ("sweet-sour", "SS-2", [], [], "the batch book has no °Brix of it"),
        ("sweet-sour", "SS-1", ["acid=2 %"], [], "a batch is brought to a °Brix"),
        ("sweet-sour", "SS-1", [], ["kelp"], "hold no such item"),
    ],
)
def test_a_batch_that_cannot_be_corrected_is_one_sentence(house, spec, batch, aims, items, says):
    with pytest.raises(UsageError, match=says):
        house.correct_batch(spec, batch, aims=aims, items=items)


def test_a_bought_juice_as_sour_as_another_in_one_line(house):
    """By hand: 10 g of malic acid in 1 040 g of pear juice are 9.552 as citric; (9.552 + m) / (1040 + m) = 0.047."""
    found = house.draft("pear juice", aims=["acid=as lemon juice"], free=["citric acid"])
    malic = 1040 * 0.01
    wanted = (0.047 * 1040 - malic * 0.9552) / (1 - 0.047)
    assert found.exact["citric acid"] == pytest.approx(wanted, rel=1e-3)
    assert found.before.spec.spec == "pear juice, changed"
    assert found.after.cost.whole == pytest.approx(1040 * 0.004 + 0.03 * amounts(found.after)["citric acid"], rel=1e-3)
    with pytest.raises(UsageError, match="the spec book has no pear juice, changed"):
        house.write_draft(found)
