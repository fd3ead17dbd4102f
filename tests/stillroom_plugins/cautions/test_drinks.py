"""Each built-in caution: when it speaks, when it is silent, and that it says whom to ask."""

from typing import Any

import pytest

from stillroom.answers.advice import DEFERRAL, advice_on
from stillroom.objects import Caution, SpecFacts
from stillroom_plugins.cautions.drinks import register_cautions


def facts(**cells: Any) -> SpecFacts:
    return SpecFacts(**{"spec": "Pear cordial", "version": 1, "kind": "preparation", **cells})


def said(**cells: Any) -> dict[str, str]:
    return {advice.name: advice.text for advice in advice_on(facts(**cells), register_cautions())}


def test_every_caution_names_its_source_and_whom_to_ask() -> None:
    cautions = register_cautions()
    assert all(caution.source for caution in cautions)
    advice = advice_on(facts(items=("milk", "egg white"), text="smoked, clarified, flamed caramel"), cautions)
    assert {a.name for a in advice} >= {"raw-egg", "dairy-clarified", "smoke", "hot-sugar", "flame", "allergens"}
    assert all(a.text.endswith(DEFERRAL) for a in advice)


@pytest.mark.parametrize(
    ("cells", "speaks"),
    [
        # FDA Food Code 3-501.17(A): 7 calendar days, the day of making is day 1, so six days after it is the last.
        ({"keeps_days": 6.0, "storage": "fridge"}, False),
        ({"keeps_days": 7.0, "storage": "fridge"}, True),
        ({"keeps_days": 14.0, "storage": "fridge"}, True),
        ({"keeps_days": 14.0, "storage": None}, True),
        ({"keeps_days": 90.0, "storage": "freezer"}, False),
        # 21 CFR 114.3: acid at a finished pH of 4.6 or below.
        ({"keeps_days": 14.0, "storage": "fridge", "ph_measured": (4.6, 3.1)}, False),
        ({"keeps_days": 14.0, "storage": "fridge", "ph_measured": (3.1, 4.7)}, True),
        ({"keeps_days": 14.0, "storage": "fridge", "kind": "drink"}, False),
        ({"keeps_days": None}, False),
        ({"keeps_days": 6.5, "storage": "fridge"}, False),  # to day 7
        # 3-501.19: what needs keeping cold may stand warm for hours, however few days it is said to keep.
        ({"keeps_days": 2.0, "storage": "ambient"}, True),
        ({"keeps_days": 2.0, "storage": "ambient", "ph_measured": (3.1,)}, False),
        ({"keeps_days": 2.0, "storage": "ambient", "kind": "garnish"}, False),
    ],
)
def test_ph_and_days(cells: dict[str, Any], speaks: bool) -> None:
    assert ("ph-and-days" in said(**cells)) is speaks


@pytest.mark.parametrize(
    ("ph", "speaks"),
    [((4.1,), False), ((4.2,), True), ((3.0, 4.4), True), ((4.6,), True), ((4.7,), False), ((), False)],
)
def test_acid_alone_does_not_settle_it_between_4_2_and_4_6(ph: tuple[float, ...], speaks: bool) -> None:
    # Food Code 1-201.10, table B, water activity above 0.92: non-TCS below 4.2, product assessment from 4.2 to 4.6.
    assert ("acidity-to-assess" in said(keeps_days=14.0, storage="fridge", ph_measured=ph)) is speaks
    assert "acidity-to-assess" not in said(keeps_days=5.0, storage="fridge", ph_measured=ph)


@pytest.mark.parametrize(
    ("cells", "speaks"),
    [
        ({"items": ("olive oil", "garlic")}, True),
        ({"items": ("rapeseed oil", "basil leaves"), "kind": "garnish"}, True),
        ({"items": ("olive oil", "gin")}, False),
        ({"items": ("garlic", "vinegar")}, False),
        ({"items": ("mint essential oil", "mint")}, False),
    ],
)
def test_plants_in_oil(cells: dict[str, Any], speaks: bool) -> None:
    # Food Code 1-201.10: garlic-in-oil mixtures are food that needs time and temperature control.
    assert ("plants-in-oil" in said(**cells)) is speaks


def test_polyols_have_no_place_in_a_drink_in_the_eu() -> None:
    assert "polyols-in-drinks" in said(kind="drink", items=("xylitol",), mass_shares={"xylitol": 0.02})
    assert "polyols-in-drinks" not in said(kind="garnish", items=("xylitol",), mass_shares={"xylitol": 0.9})


def test_a_share_of_ten_percent_but_for_its_last_digit_is_not_more() -> None:
    part = 17 / 997  # of a making of 100 g of sorbitol in 900 g of water
    share = 100 * part / (900 * part + 100 * part)
    assert share > 0.1
    assert "polyols" not in said(items=("sorbitol", "water"), mass_shares={"sorbitol": share})


@pytest.mark.parametrize(("share", "speaks"), [(0.100, False), (0.101, True), (0.5, True), (0.02, False)])
def test_polyols_above_ten_percent(share: float, speaks: bool) -> None:
    # Reg. (EU) 1169/2011 Annex III 2.4: more than 10 %, so 10.0 % exactly does not trigger it.
    assert ("polyols" in said(items=("sorbitol", "water"), mass_shares={"sorbitol": share})) is speaks


def test_polyols_of_unknown_share_are_said() -> None:
    assert "cannot be worked out" in said(items=("xylitol",))["polyols"]


def test_a_keep_that_the_batches_do_not_bear_out() -> None:
    text = said(keeps_days=14.0, batches=9, spoiled_after_days=(6, 8))["keep-not-borne-out"]
    assert text.startswith("2 of 9 batches spoiled before 14 days, the soonest after 6 days.")
    assert "keep-not-borne-out" not in said(keeps_days=14.0, batches=9)


def test_a_mixture_keeps_no_longer_than_its_earliest_part() -> None:
    # Food Code 3-501.17 as adopted in Minn. R. 4626.0400 C: the date of the earliest-prepared part holds.
    assert "Pear juice in it keeps 3" in said(keeps_days=5.0, part_keeps={"Pear juice": 3.0})["outlives-its-parts"]
    assert "outlives-its-parts" not in said(keeps_days=3.0, part_keeps={"Pear juice": 3.0})


def test_allergens_stated_and_suggested_by_name() -> None:
    stated = said(items=("egg white",), allergens=("egg",))["allergens"]
    assert stated.startswith("Contains egg, as the price list states. What")
    assert "double cream (milk)" in said(items=("double cream",))["allergens"]
    assert "orgeat (nuts)" in said(items=("orgeat",))["allergens"]


@pytest.mark.parametrize(
    "item",
    [
        "cream of tartar",
        "coconut cream",
        "ginger beer",
        "rice milk",
        "lemon juice",
        "eggplant",
        "crab apple",
        "oyster leaf",
    ],
)
def test_names_that_only_look_like_an_allergen(item: str) -> None:
    assert "allergens" not in said(items=(item,))


@pytest.mark.parametrize(
    "item", ["peach yoghurt", "peanut", "goat milk", "Egg Yolks", "fish sauce", "clam juice", "Prawns", "lupin flour"]
)
def test_names_that_are_one(item: str) -> None:
    assert "allergens" in said(items=(item,))


def test_pasteurised_egg_is_not_raw() -> None:
    assert "raw-egg" in said(items=("egg white",))
    assert "raw-egg" not in said(items=("pasteurised egg white",))


def test_high_proof_over_flame() -> None:
    assert "High proof (57 % vol)" in said(text="flame the peel", abv_pct=57.0)["flame"]
    assert "Open flame" in said(text="torch the rosemary", abv_pct=20.0)["flame"]


@pytest.mark.parametrize("text", ["chilled with dry ice", "Liquid nitrogen, until slushy"])
def test_dry_ice_and_nitrogen(text: str) -> None:
    assert "dry-ice-and-nitrogen" in said(text=text)


@pytest.mark.parametrize("item", ["tonka bean", "dried wormwood", "wild garlic", "St John’s wort", "elderberries"])
def test_risky_and_foraged(item: str) -> None:
    assert "botanicals" in said(items=(item,))


def test_ordinary_plants_are_not_risky() -> None:
    assert "botanicals" not in said(items=("wildflower honey", "mint", "rosemary", "fig leaf"))


def test_a_plain_preparation_has_nothing_to_say() -> None:
    assert said(items=("sugar", "water"), text="stir until clear", keeps_days=5.0, storage="fridge") == {}


def test_a_failing_caution_says_so_and_the_others_go_on() -> None:
    def broken(facts: SpecFacts) -> str | None:
        raise KeyError("nothing")

    cautions = [Caution(name="broken", title="Broken", source="none", check=broken), *register_cautions()]
    found = advice_on(facts(items=("egg",)), cautions)
    assert "plugin failed (KeyError" in found[0].text
    assert {"raw-egg", "allergens"} <= {a.name for a in found}
