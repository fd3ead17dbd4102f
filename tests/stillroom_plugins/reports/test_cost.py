"""The cost report: hand-computed costs, missing prices, price changes, theoretical cost."""

from datetime import date, datetime

import polars as pl
import pytest

from spec_frames import Book
from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.cautions.drinks import register_cautions
from stillroom_plugins.reports.cost import register_reports
from stillroom_plugins.reports.cost.findings import _all_sales, _shares

PERIOD = Period(first=date(2026, 3, 1), last=date(2026, 5, 31), label="spring")
(REPORT,) = register_reports()


def answered(frames: dict[str, pl.DataFrame]) -> ReportResult:
    house = HouseFacts(name="Test", currency="EUR")
    return REPORT.answer(ReportInputs(frames=frames, period=PERIOD, house=house, cautions=tuple(register_cautions())))


@pytest.fixture(scope="module")
def frames() -> dict[str, pl.DataFrame]:
    """The store's views of the bar and its sales."""
    rows = [
        (sold_at, "Test", item, quantity, 10.0 * quantity)
        for item, lines in SALES.items()
        for sold_at, quantity in lines
    ]
    names = ["sold_at", "venue", "till_item", "quantity", "net_amount"]
    types = [pl.Datetime, pl.String, pl.String, pl.Float64, pl.Float64]
    sale = pl.DataFrame(rows, schema=dict(zip(names, types, strict=True)), orient="row")
    return bar().views(*REPORT.needs, sale=sale)


@pytest.fixture(scope="module")
def result(frames: dict[str, pl.DataFrame]) -> ReportResult:
    return answered(frames)


@pytest.fixture(scope="module")
def unsold(frames: dict[str, pl.DataFrame]) -> ReportResult:
    """The same without a sale."""
    return answered({**frames, "daily_serves": frames["daily_serves"].clear()})


def table(result: ReportResult, name: str) -> ReportTable:
    return next(table for table in result.tables if table.name == name)


def bar() -> Book:
    book = Book()
    book.ingredient("gin", "1000 ml", 20.0, abv_pct=40.0)
    book.ingredient("gin", "1000 ml", 25.0, abv_pct=40.0, priced_on=date(2026, 4, 1))
    book.ingredient("sugar", "1000 g", 2.0, sugar_pct=100.0)
    book.ingredient("water", "1 l", 0.0, abv_pct=0.0, density_g_ml=0.998)
    book.ingredient("kelp", "100 g")
    book.spec("syrup", "800 ml", "500 g sugar", "500 g water")
    book.spec("sour", "1 serve", "50 ml gin", "20 ml syrup", method="shaken", price=10.0)
    book.spec("tide", "1 serve", "40 ml gin", "1 g kelp", method="stirred", price=12.0)
    return book


SALES = {
    "sour": [(datetime(2026, 3, 10, 20), 100.0), (datetime(2026, 4, 10, 20), 10.0)],
    "tide": [(datetime(2026, 4, 10, 21), 5.0)],
}


def test_costs_by_hand(result: ReportResult) -> None:
    rows = {row["spec"]: row for row in table(result, "drinks").frame.iter_rows(named=True)}
    # sour: 50 x 0.025 + 20 of 800 ml of a making of 1.00 = 1.275 at the period's last prices.
    assert rows["sour"]["cost"] == pytest.approx(1.275)
    # Sold: 100 at 50 x 0.020 + 0.025, 10 at 1.275, each for 10.00.
    assert rows["sour"]["share"] == pytest.approx((100 * 1.025 + 10 * 1.275) / 110 / 10)
    # sold: 100 at (50 x 0.020 + 0.025), 10 at 1.275.
    assert rows["sour"]["sales_cost"] == pytest.approx(102.5 + 12.75)
    assert (rows["tide"]["cost"], rows["tide"]["missing"]) == (None, "kelp")
    assert rows["tide"]["cost_at_least"] == pytest.approx(1.0)
    (making,) = table(result, "makings").frame.to_dicts()
    assert making["cost"] == pytest.approx(1.0)
    assert making["per_hundred"] == pytest.approx(0.125)
    assert making["serves"] == "sour: 40"


def test_a_missing_price_never_looks_whole(result: ReportResult) -> None:
    told = next(f for f in result.findings if f.subject == "tide")
    assert told.sentence == "tide costs at least EUR 1.00 a serve: no price for kelp."
    assert told.sureness == "cannot tell"
    whole = next(f for f in result.findings if f.sentence.startswith("By the specs"))
    assert "should have cost at least EUR 120, with no price for kelp" in whole.sentence
    shares = next(f for f in result.findings if f.sentence.startswith("The money goes into"))
    assert "gin (98 %)" in shares.sentence
    assert shares.sentence.endswith(", with no price for kelp.")
    assert (whole.sureness, shares.sureness) == ("likely", "likely")


@pytest.mark.parametrize("sold", [-9.0, 0.0])
def test_what_was_only_taken_back_should_have_cost_nothing(sold: float) -> None:
    drinks = pl.DataFrame({"spec": ["Fig Sour"], "serves": [sold]})
    sales = pl.DataFrame({"item": ["figs"], "cost": [1.5 * sold], "unpriced_serves": [sold]})
    [told] = _all_sales(sales, drinks, PERIOD, "EUR")
    assert told.sentence == "No more was sold than was taken back, so there is nothing that it should have cost."


def test_a_price_change_names_the_serves_it_reaches(result: ReportResult) -> None:
    told = next(f for f in result.findings if f.subject == "gin")
    # Since then 10 sours x 50 ml and 5 tides x 40 ml, each ml 0.005 dearer; the 100 sours before it cost what they did.
    assert "gin is 25.0 % dearer since 1 Apr 2026: adds EUR 3.50 on the serves sold since." in told.sentence
    assert told.evidence == "EUR on a serve: sour +0.25 and tide +0.20."
    assert told.act
    (change,) = table(result, "price-changes").frame.to_dicts()
    assert (change["before"], change["after"], change["base"]) == (pytest.approx(20.0), pytest.approx(25.0), "litre")


def test_serves_that_cost_alike_have_no_dearest() -> None:
    drinks = pl.DataFrame({"spec": ["Fig Sour", "Hay Flip"], "share": [0.1667, 0.1667], "cost_sold": 1.5})
    drinks = drinks.with_columns(net_per_serve=pl.lit(9.0))
    assert _shares(drinks, "EUR")[0].sentence == "Every serve costs the same share of what it takes in, 16.7 %."
    apart = drinks.with_columns(share=pl.Series([0.1, 0.2]))
    assert "dearest serve for what it takes in is Hay Flip (20.0 %" in _shares(apart, "EUR")[0].sentence


def test_dearest_first(result: ReportResult) -> None:
    parts = table(result, "parts").frame
    assert parts["item"].to_list() == ["gin", "sugar"]
    assert parts["share"].sum() == pytest.approx(1.0)
    assert parts["dearer"].to_list() == pytest.approx((parts["cost"] / 10).to_list())


def test_without_sales_the_serves_are_still_costed(unsold: ReportResult) -> None:
    assert any(f.sentence == "No drink with a spec was sold in this period." for f in unsold.findings)
    assert table(unsold, "drinks").frame.height == 2
    assert not any(t.name == "parts" for t in unsold.tables)


def test_no_figure_is_not_a_number(unsold: ReportResult) -> None:
    for one in unsold.tables:
        floats = one.frame.select(pl.selectors.float())
        assert floats.width == 0 or all(floats.select(pl.all().is_finite().fill_null(True).all()).row(0))


def test_an_empty_house_says_so(frames: dict[str, pl.DataFrame]) -> None:
    empty = answered({name: frame.clear() for name, frame in frames.items()})
    assert empty.notes == ("There are no specs yet: nothing can be costed.",)
