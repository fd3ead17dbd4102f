"""The balance report: figures side by side, what changed, scores beside it, cautions beside the spec."""

from datetime import date
from typing import Any

import polars as pl
import pytest

from spec_frames import Book, kitchen
from stillroom.answers.advice import DEFERRAL
from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.cautions.drinks import register_cautions
from stillroom_plugins.reports.balance import register_reports
from stillroom_plugins.reports.balance.findings import _change, _range
from store_frames import frame
from vega_lite import checked

PERIOD = Period(first=date(2026, 3, 1), last=date(2026, 5, 31), label="spring")
(REPORT,) = register_reports()


def report(book: Book, standard: str | None = None, scores: pl.DataFrame | None = None) -> ReportResult:
    house = HouseFacts(name="Test", currency="EUR", standard_drink=standard)
    frames = {
        **book.frames,
        "current_batch": frame("current_batch"),
        "batch_fate": frame("batch_fate"),
        "panel_scores": tastings().clear() if scores is None else scores,
    }
    assert set(frames) == set(REPORT.needs)
    cautions = tuple(register_cautions())
    return REPORT.answer(ReportInputs(frames=frames, period=PERIOD, house=house, cautions=cautions))


def test_drinks_that_are_alike_do_not_run_from_one_to_the_other() -> None:
    alike = pl.DataFrame(
        {"spec": ["Fig Sour", "Pear Fizz"], "kind": "drink", "current": True, "whole": True, "abv_pct": [45.01, 45.02]}
        | {"alcohol_g": 18.0, "sugar_g_100ml": [0.0, 0.0]}
    )
    assert _range(alike)[0].sentence == "Drinks all have 45.0 % vol, and 0.0 g of sugar in 100 ml each."
    apart = alike.with_columns(abv_pct=pl.Series([13.2, 45.0]))
    assert "run from 13.2 % vol (Fig Sour) to 45.0 % vol (Pear Fizz" in _range(apart)[0].sentence


def table(result: ReportResult, name: str) -> ReportTable:
    return next(table for table in result.tables if table.name == name)


def bar() -> Book:
    book = kitchen()
    book.spec("syrup", "813 ml", "500 g sugar", "500 g water", keeps_days=14.0, storage="fridge")
    first = date(2026, 1, 1)
    sour: dict[str, Any] = {"method": "shaken", "in_service_from": first, "in_service_until": date(2026, 3, 31)}
    book.spec("sour", "1 serve", "60 ml gin", "20 ml syrup", "25 ml lemon juice", **sour)
    sour = {"method": "shaken", "in_service_from": date(2026, 4, 1), "version": 2}
    book.spec("sour", "1 serve", "60 ml gin", "30 ml syrup", "25 ml lemon juice", "15 ml egg white", **sour)
    book.spec("dry one", "1 serve", "60 ml gin", "5 ml syrup", method="stirred", dilution_pct=25.0)
    return book


def tastings() -> pl.DataFrame:
    rows = [
        ("s", date(2026, 3, 20), panelist, "sour", version, "liking", score, 1.0, 9.0, "intensity")
        for panelist, old, new in (("p1", 4.0, 6.0), ("p2", 5.0, 6.0))
        for version, score in ((1, old), (2, new))
    ]
    names = ["session", "tasted_on", "panelist", "spec", "version", "attribute", "score"]
    return pl.DataFrame(rows, schema=[*names, "scale_low", "scale_high", "scale_kind"], orient="row")


def all_finite(result: ReportResult) -> bool:
    floats = [t.frame.select(pl.selectors.float()) for t in result.tables]
    return all(frame.select(pl.all().is_finite().fill_null(True).all()).row(0) for frame in floats if frame.width)


def test_versions_stand_side_by_side() -> None:
    result = report(bar())
    drinks = table(result, "drinks").frame
    assert drinks.select("spec", "version", "service").rows() == [
        ("dry one", 1, "in service"),
        ("sour", 1, "until 2026-03-31"),
        ("sour", 2, "in service"),
    ]
    assert "standard_drinks" not in table(result, "drinks").columns
    assert all_finite(result)


def test_what_changed_in_the_period_is_told_in_the_glass_s_words() -> None:
    result = report(bar(), scores=tastings())
    told = next(f for f in result.findings if f.sentence.startswith("sour, version 2 against 1"))
    assert "sweeter" in told.sentence
    assert "syrup 20 ml to 30 ml" in told.sentence
    assert "egg white 15 ml added" in told.sentence
    assert "liking 4.5 before, 6.0 after (2 tasters)" in told.evidence
    (score,) = table(result, "scores").frame.to_dicts()
    assert (score["difference"], score["tasters"]) == (pytest.approx(1.5), 2)
    assert score["sugar"] > 0


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("15 ml (version 1)", "10 ml (version 1)", "syrup 15 ml to 10 ml"),
        ("15 ml (version 1)", "10 ml (version 2)", "syrup 15 ml (version 1) to 10 ml (version 2)"),
        ("15 ml (version 1)", "15 ml (version 2)", "syrup 15 ml (version 1) to 15 ml (version 2)"),
        ("15 ml", "10 ml", "syrup 15 ml to 10 ml"),
        (None, "10 ml", "syrup 10 ml added"),
    ],
)
def test_a_version_of_what_goes_in_is_told_where_it_changed(before: str | None, after: str, said: str) -> None:
    assert _change({"what": "syrup", "before": before, "after": after}) == said


def test_a_change_outside_the_period_is_in_the_table_alone() -> None:
    book = kitchen()
    book.spec("neat", "1 serve", "50 ml gin", in_service_until=date(2026, 1, 31), method="stirred")
    book.spec("neat", "1 serve", "60 ml gin", version=2, in_service_from=date(2026, 2, 1), method="stirred")
    result = report(book)
    assert not any("against" in f.sentence for f in result.findings)
    assert table(result, "changes").frame["what"].to_list() == ["gin"]


def test_assumed_chilling_is_said() -> None:
    findings = report(bar()).findings
    said = next(f for f in findings if f.sentence.startswith("Chilling is assumed"))
    assert "sour" in said.sentence
    assert "dry one" not in said.sentence
    assert said.sureness == "cannot tell"


def test_cautions_stand_beside_the_spec_and_defer() -> None:
    result = report(bar())
    names = [t.name for t in result.tables]
    assert names.index("drinks-cautions") == names.index("drinks") + 1
    assert names.index("preparations-cautions") == names.index("preparations") + 1
    careful = dict(table(result, "drinks").frame.select("spec", "careful").rows())
    assert careful["sour"] == "allergens, raw egg"
    text = table(result, "preparations-cautions").frame["text"].to_list()
    assert any("no pH is measured" in one for one in text)
    assert all(one.endswith(DEFERRAL) for one in text)


def test_standard_drinks_are_counted_by_the_house_s_definition() -> None:
    result = report(bar(), "UK")
    found = table(result, "drinks")
    assert found.columns["standard_drinks"].label == "UK units"
    # 60 ml at 40 % vol hold 24 ml of alcohol: 2.4 units of 10 ml (UK Chief Medical Officers, from memory).
    assert found.frame["standard_drinks"].to_list() == pytest.approx([2.4] * 3, abs=1e-6)
    assert any("UK Chief Medical Officers" in note for note in result.notes)


def test_a_spec_that_makes_more_than_goes_in_is_named() -> None:
    book = kitchen()
    book.spec("syrup", "1000 ml", "500 g sugar", "500 g water")
    said = [f for f in report(book).findings if "more comes out" in f.sentence]
    assert [f.subject for f in said] == ["syrup"]
    assert "23 % more than goes in" in said[0].sentence


def test_what_cannot_be_counted_is_said() -> None:
    book = bar()
    book.spec("odd", "1 serve", "50 ml gin", "10 ml moon dew", "2 each egg white", method="built")
    said = next(f for f in report(book).findings if f.sentence.startswith("Not all can be counted"))
    assert "moon dew" in said.sentence
    assert "egg white: 2 each has no mass" in said.sentence


def test_the_chart_names_every_drink_once() -> None:
    book = bar()
    book.spec("</script><b>", "1 serve", "50 ml gin", "10 ml lemon juice", method="built")
    (chart,) = report(book).charts
    drawn = checked(chart)
    names = [row["spec"] for rows in drawn["datasets"].values() for row in rows]
    assert sorted(names) == ["</script><b>", "dry one", "sour"]


def test_an_empty_house_says_so() -> None:
    result = report(Book())
    assert not result.tables
    assert result.notes == ("There are no specs yet: nothing is known of what is in the glass.",)
