"""A spec scaled: amounts, which version, how many serves, and how it is written out."""

import json
from datetime import date

import pytest

from spec_frames import Book, kitchen
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.costing import costs_on
from stillroom.analysis.specs.request import (
    chosen_version,
    factor_for_amount,
    factor_for_serves,
    read_amount,
)
from stillroom.analysis.specs.sheet import SpecSheet, spec_sheet
from stillroom.analysis.specs.versions import LAST_OF_DAYS
from stillroom.analysis.specs.views import VIEWS
from stillroom.answers.advice import Advice
from stillroom.answers.spec_card import card_text, card_values
from stillroom.errors import UsageError

DAY = date(2026, 6, 1)


def bar() -> Book:
    book = kitchen()
    book.spec("syrup", "813 ml", "500 g sugar", "500 g still water", keeps_days=14.0, storage="fridge")
    book.spec("sour", "1 serve", "60 ml gin", "20 ml syrup", "1 dash egg white", method="shaken", price=12.0)
    return book


def sheet(book: Book, spec: str, factor: float = 1.0) -> SpecSheet:
    views = book.views(*VIEWS, "part_cost")
    composition = Composition(SpecBook(views, DAY))
    costs = costs_on(views["part_cost"], DAY)
    chosen = chosen_version(composition.book, spec, None)
    return spec_sheet(composition, costs, chosen, priced_on=DAY, factor=factor)


def test_lines_scale_and_are_rounded_to_what_can_be_weighed() -> None:
    gin, syrup, white = sheet(bar(), "sour", 7.0).lines
    assert (gin.amount, gin.unit, gin.measure_ml) == (420.0, "ml", 420.0)
    assert gin.weigh_g == pytest.approx(420 * 0.948, rel=0.005)
    assert syrup.version == 1
    assert syrup.weigh_g == pytest.approx(140 * 1.2297, rel=0.005)
    assert white.unit == "dash"


def test_an_unscaled_spec_shows_the_amounts_as_written() -> None:
    book = bar()
    book.spec("odd", "1 serve", "22.25 ml gin")
    assert sheet(book, "odd").lines[0].amount == 22.25


def test_lines_cost_what_the_spec_costs() -> None:
    found = sheet(bar(), "sour")
    assert found.cost.missing == ("still water",)
    assert sum(line.cost.known for line in found.lines) == pytest.approx(found.cost.known)
    assert found.lines[0].cost.known == pytest.approx(1.2)  # 60 ml of gin at 14.00 for 700 ml
    assert found.cost_share is None  # a floor is no share


def test_serves_that_a_making_gives() -> None:
    assert sheet(bar(), "syrup").serves.to_dicts() == [
        {"drink": "sour", "drink_version": 1, "amount": 20.0, "unit": "ml", "serves": pytest.approx(40.65)}
    ]


def test_makings_for_serves_and_for_an_amount() -> None:
    composition = Composition(SpecBook(bar().frames))
    sour, syrup = (composition.book.in_service(name) for name in ("sour", "syrup"))
    assert factor_for_serves(sour, 8) == 8
    assert factor_for_amount(composition, syrup, "1.626 l") == pytest.approx(2.0)
    assert factor_for_amount(composition, syrup, "1 kg") == pytest.approx(1000 / (813 * 1.2297), rel=1e-3)
    assert factor_for_amount(composition, sour, "4 serves") == pytest.approx(4.0)
    with pytest.raises(UsageError, match="is a preparation, not a drink"):
        factor_for_serves(syrup, 8)
    with pytest.raises(UsageError, match="must be above 0"):
        factor_for_serves(sour, 0)
    with pytest.raises(UsageError, match="no way from that to each"):
        factor_for_amount(composition, syrup, "3 each")


@pytest.mark.parametrize("text", ["", "ml", ". ml", "-5 ml", "0 ml", "five ml", "1e3 ml", "nan ml"])
def test_amounts_that_cannot_be_read(text: str) -> None:
    with pytest.raises(UsageError, match="is not an amount"):
        read_amount(text)


def test_a_comma_that_may_part_thousands_is_asked_about() -> None:
    with pytest.raises(UsageError, match="may be thousands or a fraction"):
        read_amount("1,500 ml")
    assert read_amount("1,5 l") == read_amount("1.500 l") == (1500.0, "ml")
    assert read_amount("0,125 l") == (125.0, "ml")


@pytest.mark.parametrize("text", ["1 fl. oz", "1 US Fl. Oz.", "1 fl oz", "1 fluid ounce"])
def test_every_spelling_of_the_unit_table_is_read(text: str) -> None:
    assert read_amount(text) == (29.5735295625, "ml")  # NIST Handbook 44, appendix C


def test_an_unknown_unit_lists_the_known_ones() -> None:
    with pytest.raises(UsageError, match=r"'stone' is not a known unit; there are: ml"):
        read_amount("2 stone")


def test_names_that_are_not_there() -> None:
    book = SpecBook(bar().frames)
    assert chosen_version(book, "SOUR", None).spec == "sour"
    with pytest.raises(UsageError, match=r"no spec 'saur'\. Did you mean 'sour'"):
        chosen_version(book, "saur", None)
    with pytest.raises(UsageError, match=r"no spec 'ou'\. Did you mean 'sour'"):
        chosen_version(book, "ou", None)  # a part of the name
    with pytest.raises(UsageError, match="'sour' has no version 9; there are: 1"):
        chosen_version(book, "sour", 9)


def test_without_a_version_the_one_in_service_is_meant() -> None:
    book = kitchen()
    book.spec("sour", "1 serve", "50 ml gin", in_service_from=date(2026, 1, 1))
    book.spec("sour", "1 serve", "60 ml gin", version=2, in_service_from=date(2026, 6, 1))
    book.spec("sour", "1 serve", "70 ml gin", version=3)  # a trial
    for day, version in ((date(2026, 5, 1), 1), (date(2026, 6, 1), 2), (LAST_OF_DAYS, 2)):
        assert chosen_version(SpecBook(book.frames, day), "sour", None).version == version


def test_the_card_puts_cautions_before_the_amounts_and_names_what_it_rests_on() -> None:
    advice = [Advice(name="raw-egg", title="Raw egg", text="Take care. Ask.", source="a rule")]
    text = card_text(sheet(bar(), "sour", 4.0), advice, "EUR", None)
    assert text.index("! Raw egg: Take care. Ask. [a rule]") < text.index("To make 4 serves (")
    assert "at least EUR" in text
    assert "no price for still water" in " ".join(text.split())  # it may be wrapped anywhere
    assert "as usual for 'shaken' (common practice, from memory; not measured)" in " ".join(text.split())
    assert "1 dash is taken as 0.8 ml (common practice, no source)" in text
    assert max(len(line) for line in text.splitlines()) <= 120
    assert "nan" not in text.casefold()


def test_the_card_as_values_is_plain_json() -> None:
    values = card_values(sheet(bar(), "sour"), [], "EUR")
    again = json.loads(json.dumps(values, default=str, allow_nan=False))
    assert again["spec"]["spec"] == "sour"
    assert again["cost"]["whole"] is None
    assert again["cost"]["no_price_for"] == ["still water"]
    assert again["as_served"]["volume_ml"] > again["before_chilling"]["volume_ml"]


def test_a_spec_without_lines_is_still_a_card() -> None:
    book = kitchen()
    book.spec("nothing", "1 serve")
    text = card_text(sheet(book, "nothing"), [], "EUR", None)
    assert "no lines" in text
    assert "not known" in text


def assumed(book: Book, spec: str) -> str:
    return "; ".join(sheet(book, spec).assumptions)


def test_more_sugar_than_dissolves_is_said() -> None:
    # CRC Handbook: at 20 °C water holds 67.09 g of sucrose in 100 g; 2 to 1 is 66.7, just under.
    book = kitchen()
    book.spec("two to one", "1100 ml", "1000 g sugar", "500 g water")
    book.spec("seven to three", "740 ml", "700 g sugar", "300 g water")
    book.spec("brittle", "10 each", "200 g sugar", kind="garnish")
    assert "dissolves" not in assumed(book, "two to one")
    assert "70.0 g of sugar to 100 g of sugar and water" in assumed(book, "seven to three")
    assert "dissolves" not in assumed(book, "brittle")


def test_an_ounce_is_said_to_be_a_weight() -> None:
    book = kitchen()
    book.spec("by weight", "1 serve", "2 oz gin")
    assert "1 oz is taken as 28.35 g, by weight; the measure is 'fl oz'" in assumed(book, "by weight")
