"""How names compare: without case and accents, in Python as in the store."""

from __future__ import annotations

import duckdb
import polars as pl
import pytest

from house_builder import ask, command, csv_text, current, good, make_house, reasons, take_in
from stillroom.names import key_in_sql, key_of, name_key

FIRST, LAST = 0x20, 0x3100
"""All letters with accents, and the first scripts in which a mark makes another letter."""


def test_python_and_the_store_give_every_letter_the_same_key():
    letters = [chr(code) for code in range(FIRST, LAST)]
    names = [*letters, *(f"a{letter}É’" for letter in letters), "Cre\u0300me", "İ酒", "ﾊﾞ酒"]
    con = duckdb.connect()
    rows = con.execute(f"SELECT name, {key_in_sql('name')} FROM (SELECT unnest(?) AS name)", [names]).fetchall()
    assert len(rows) == len(names)
    assert [(name, key) for name, key in rows if key != name_key(name)] == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Crème Brûlée Flip", "CREME BRULEE FLIP"),
        ("Netmender’s Knot", "Netmender's Knot"),
        ("Smørrebrød", "smorrebrod"),
        ("Weißer Pfirsich", "WEISSER PFIRSICH"),
        ("Żubrówka–Flip", "zubrowka-flip"),
        ("Cre\u0300me", "Crème"),
    ],
)
def test_accents_case_and_apostrophes_do_not_matter(one, other):
    assert name_key(one) == name_key(other)


def test_where_a_mark_makes_another_letter_it_stays():
    assert name_key("バラ") != name_key("ハラ")  # rose, and belly: JIS X 0208 has them as letters of their own


def test_a_column_has_the_keys_of_its_names():
    assert pl.DataFrame({"n": ["Crème", None]}).select(key_of(pl.col("n")))["n"].to_list() == ["creme", None]


def test_the_till_the_batch_book_and_the_panel_need_no_accents(tmp_path):
    flip, cordial = "Crème Brûlée Flip", "Açaí Cordial"
    house = make_house(
        tmp_path,
        spec=csv_text(
            [good("spec", spec=flip), good("spec", spec=cordial, kind="preparation", yield_amount=700, yield_unit="ml")]
        ),
        spec_line=csv_text(
            [
                good("spec_line", spec="CREME BRULEE FLIP", item="acai cordial", amount=30),
                good("spec_line", spec=cordial, item="gin"),
            ]
        ),
        sale=csv_text([good("sale", till_item="Creme Brulee Flip"), good("sale", till_item="CRÈME BRULEE FLIP")]),
        batch=csv_text([good("batch", preparation="Acai Cordial", batch="Açaí 1")]),
        batch_event=csv_text([good("batch_event", batch="acai 1")]),
        tasting=csv_text([good("tasting", spec="Creme Brulee Flip")]),
    )
    take_in(house)
    assert reasons(house) == []
    assert ask(house, "SELECT spec, sum(serves) FROM daily_serves GROUP BY ALL") == [(flip, 2.0)]
    assert ask(house, "SELECT preparation, batch FROM batch_fate") == [(cordial, "Açaí 1")]
    assert ask(house, "SELECT spec, item, item_kind FROM spec_item JOIN spelling USING (name_key) ORDER BY ALL") == [
        (cordial, "gin", "ingredient"),
        (flip, cordial, "preparation"),
    ]
    assert current(house, "batch_event", "batch") == [("acai 1",)]
    assert flip in command("spec", "creme brulee flip", house=house).out
