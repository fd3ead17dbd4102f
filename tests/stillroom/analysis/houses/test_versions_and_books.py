"""Who is on which version, what houses sell that others do not, and whose books can be trusted."""

from __future__ import annotations

from datetime import date

import polars as pl

from stillroom.analysis.houses.adoption import adoption, rolled_out, served, without
from stillroom.analysis.houses.assortment import assortment, differences
from stillroom.analysis.houses.trust import doubtful, left_out_of

SPANS = pl.DataFrame(
    [
        ("north", "Slack Water", 1, date(2026, 1, 1), date(2026, 3, 1)),
        ("north", "Slack Water", 2, date(2026, 3, 2), date(2026, 5, 1)),
        ("south", "Slack Water", 1, date(2026, 1, 1), date(2026, 5, 1)),
        ("west", "Slack Water", 2, date(2026, 2, 2), date(2026, 5, 1)),
        ("west", "Old Ballast", 1, date(2026, 2, 2), date(2026, 5, 1)),
    ],
    schema=["house", "spec", "version", "first_day", "last_day"],
    orient="row",
)


def test_each_house_is_on_the_version_it_sold_last():
    found = adoption(SPANS)
    assert found.filter(pl.col("spec") == "Slack Water").select("house", "version", "since", "behind").rows() == [
        ("north", 2, date(2026, 3, 2), 0),
        ("south", 1, date(2026, 1, 1), 1),
        ("west", 2, date(2026, 2, 2), 0),
    ]


def test_a_house_that_began_with_the_new_version_did_not_change_to_it():
    assert rolled_out(SPANS).rows() == [("Slack Water", 2, 1, date(2026, 3, 2), date(2026, 3, 2))]
    assert served(SPANS, "Slack Water", 2).rows() == [
        ("north", date(2026, 1, 1), date(2026, 3, 2), None),
        ("south", date(2026, 1, 1), None, None),
        ("west", date(2026, 2, 2), date(2026, 2, 2), None),
    ]
    assert served(SPANS, "Slack Water", 1).rows() == [
        ("north", date(2026, 1, 1), date(2026, 1, 1), date(2026, 3, 2)),
        ("south", date(2026, 1, 1), date(2026, 1, 1), None),
    ]


def test_houses_that_have_an_earlier_version_still_are_without_the_new_one():
    assert without(SPANS, "Slack Water", 2) == ["south"]
    back = pl.DataFrame(
        [("west", "Slack Water", 1, date(2026, 5, 2), date(2026, 6, 1))], schema=SPANS.schema, orient="row"
    )
    assert without(pl.concat([SPANS, back]), "Slack Water", 2) == ["south"]  # one that had it, and went back, is not
    assert without(SPANS, "Slack Water", 1) == without(SPANS, "Old Ballast", 1) == []


def test_what_one_house_alone_sells_is_its_own_and_what_most_others_sell_it_lacks():
    rows = [(house, "Fig Sour", 10.0) for house in "abcdef"] + [(house, "Slack Water", 30.0) for house in "abcde"]
    serves = pl.DataFrame([*rows, ("f", "Old Ballast", 5.0)], schema=["house", "drink", "serves"], orient="row")
    assert assortment(serves)["drink"].to_list() == ["Fig Sour", "Slack Water", "Old Ballast"]
    assert differences(serves).select("house", "drink", "what", "serves").rows() == [
        ("f", "Old Ballast", "its own", 5.0),
        ("f", "Slack Water", "lacks", 0.75 * 15),
    ]


def test_books_in_doubt_are_named_with_why_and_left_out_where_they_would_bend_a_comparison():
    base = {
        "state": "landed",
        "made_money": 100.0,
        "unexplained_money": 1.0,
        "open_days": 90,
        "silent_days": 1,
        "rows_read": 1000,
        "aside": 3,
    }
    houses = pl.DataFrame(
        [
            {"house": "fine", **base},
            {"house": "leaks", **base, "unexplained_money": 30.0},
            {"house": "silent", **base, "silent_days": 20},
            {"house": "torn", **base, "aside": 200},
            {"house": "gone", **base, "state": "failed", "made_money": None},
            {"house": "buys", **base, "made_money": 0.0, "unexplained_money": 0.0},
        ]
    )
    marks = doubtful(houses)
    assert marks.select("house", "mark").rows() == [
        ("gone", "intake failed"),
        ("leaks", "unexplained use"),
        ("silent", "days without sales"),
        ("torn", "rows set aside"),
    ]
    assert left_out_of(marks, "waste") == ["gone", "leaks", "silent", "torn"]
    assert left_out_of(marks, "sales") == ["gone", "silent", "torn"]
