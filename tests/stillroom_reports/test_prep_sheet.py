"""The prep list in its five forms."""

import csv
import io
import json
from datetime import date

import pytest

from paper import tags, texts
from stillroom.analysis.specs.buying import ToBuy
from stillroom.answers.prep_list import PrepLine, PrepList
from stillroom_reports import prep_sheet
from stillroom_reports.paper.prep_list import print_prep_list

DAY = date(2026, 11, 24)


def line(name: str, **given: object) -> PrepLine:
    facts: dict[str, object] = {
        "venue": "bar", "preparation": name, "unit": "ml", "version": 2, "lots": (), "on_hand": 0.0, "past_use_by": (),
        "expected_use": 400.0, "use_low": 250.0, "use_high": 600.0, "chance_short": 0.9, "chance_waste": 0.0,
    }  # fmt: skip
    return PrepLine(**{**facts, **given})  # type: ignore[arg-type]


def listed(*lines: PrepLine, to_buy: tuple[ToBuy, ...] = ()) -> PrepList:
    return PrepList(
        house="Bar <b>&</b> Co",
        currency="EUR",
        day=DAY,
        next_making=date(2026, 11, 26),
        last_day=date(2026, 11, 22),
        lines=lines,
        notes=("A note.",),
        to_buy=to_buy,
    )


FULL = listed(
    line("<script>alert(1)</script> syrup", make=1200.0, makings=1.5, saves=12.0, wanted_for=(("punch", 300.0),)),
    line("=1+1", make=650.0, makings=1.0, lots=(("B-1", 120.0, DAY), ("B-2", 80.0, None)), on_hand=200.0),
    line("shrub", past_use_by=(("S-9", 120.0, DAY),), chance_short=0.0, chance_waste=0.6, wasted=140.0),
    line("tincture", cannot_tell="neither its spec nor a batch says how long it keeps", chance_short=None),
    to_buy=(
        ToBuy(item="pears", amount=3400, unit="g", wanted_for=("punch", "shrub"), pack=(5, "kg"), packs=1, cost=14.5),
        ToBuy(item="kelp", amount=2, unit="each", wanted_for=("tincture",)),
    ),
)


def test_text_has_the_order_the_amounts_and_the_reasons() -> None:
    text = prep_sheet.render_text(FULL)
    order = ("shrub, batch S-9: 120 ml", "1. <script>", "2. =1+1", "No making today", "To buy for it")
    assert [text.index(said) for said in order] == sorted(text.index(said) for said in order)
    assert "1 200 ml (1.5 makings, version 2)" in text
    assert "of it today for punch 300 ml" in " ".join(text.split())
    assert "120 ml B-1 (use by 24 Nov), 80 ml B-2 (no use-by)" in text
    assert "pears: 3 400 g for punch and shrub, 1 pack of 5 kg, EUR 14.50\n" in text
    assert "kelp: 2 pieces for tincture\n" in text
    assert "Cannot tell how much to make: neither its spec nor a batch says how long it keeps." in " ".join(
        text.split()
    )
    assert max(map(len, text.splitlines())) <= 80


def test_one_blank_line_parts_what_is_to_be_made_from_what_is_to_be_poured_away() -> None:
    text = prep_sheet.render_text(listed(line("shrub", make=650.0, makings=1.0, past_use_by=(("S-9", 120.0, DAY),))))
    assert "S-9: 120 ml\n\n 1. shrub" in text
    assert "\n\n\n" not in text


def test_html_escapes_names_and_allows_no_request() -> None:
    page = prep_sheet.render_html(FULL)
    assert "<script" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; syrup" in page
    assert "default-src 'none'" in page
    assert "http:" not in page.replace("http-equiv", "")
    assert "https:" not in page


def test_csv_and_json_hold_every_line_and_csv_no_formula() -> None:
    rows = list(csv.DictReader(io.StringIO(prep_sheet.render_csv(FULL))))
    assert [row["preparation"] for row in rows] == ["<script>alert(1)</script> syrup", "'=1+1", "shrub", "tincture"]
    assert rows[0]["make"] == "1200"
    document = json.loads(prep_sheet.render_json(FULL))
    assert document["day"] == "2026-11-24"
    assert [one["make"] for one in document["lines"]] == [1200.0, 650.0, 0.0, 0.0]
    assert document["to_buy"][0]["packs"] == 1
    assert document["lines"][1]["lots"][0] == ["B-1", 120.0, "2026-11-24"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"use_low": 0.0, "use_high": 0.0}, "Hardly any used before 2026-11-26."),
        ({"use_low": 398.0, "use_high": 401.0}, "400 ml used before 2026-11-26."),
        ({"make": 1.0, "saves": 1234.4}, "making none would cost about EUR 1 234 more, work counted."),
        ({"make": 900.0, "make_wasted": 42.0}, "of what is made, 42 ml is left at the end of its keep, on average"),
        ({"lots": (("B", 9.0, DAY),), "chance_short": 0.01}, "what is there runs out once in 100 times"),
        ({"unit": "each", "expected_use": 1.0, "use_low": 0.0, "use_high": 2.0}, "1 piece used"),
    ],
)
def test_the_reason_reads_well(given: dict[str, object], said: str) -> None:
    text = prep_sheet.why(line("syrup", **given), FULL).replace("\u202f", " ")
    assert said in text
    assert ("runs out" in text) == ("lots" in given)  # of nothing, nothing runs out


def test_half_a_making_is_not_half_of_several() -> None:
    assert prep_sheet.makings(line("syrup", makings=0.5)) == "half a making, version 2"
    assert prep_sheet.makings(line("syrup", makings=1.5)) == "1.5 makings, version 2"


@pytest.mark.parametrize("render", [prep_sheet.render_text, prep_sheet.render_html])
def test_nothing_to_make_is_said(render) -> None:  # type: ignore[no-untyped-def]
    assert "Nothing needs making." in render(listed())


def test_venues_are_named_only_where_there_are_several() -> None:
    assert "syrup (bar)" not in prep_sheet.render_text(listed(line("syrup", make=10.0)))
    both = listed(line("syrup", make=10.0), line("syrup", venue="terrace", make=10.0))
    assert "syrup (terrace)" in prep_sheet.render_text(both)


def test_on_paper_there_is_room_to_write_and_what_is_to_be_poured_away_comes_first() -> None:
    made = print_prep_list(FULL, "A4")
    assert made.faults == ()
    [text] = texts(made.pdf)
    text = text.replace("\u202f", " ").replace("\xa0", " ")
    order = (
        *(
            "Pour away first",
            "shrub, batch S-9 120 ml 24 Nov",
            "Make, in this order",
            "<script>alert(1)</script> syrup",
        ),
        *(
            "Can wait",
            "tincture",
            "To buy for it",
            "pears 3 400 g for punch and shrub 1 pack of 5 kg, EUR 14.50",
            "A note.",
        ),
    )
    assert [text.index(said) for said in order] == sorted(text.index(said) for said in order)
    for heading in ("Done", "Amount made", "Initials", "Use by", "Poured away"):
        assert heading in text
    assert tags(made.pdf)["Table"] == 4


def test_on_paper_nothing_to_make_is_said() -> None:
    [text] = texts(print_prep_list(listed(), "Letter").pdf)
    assert "Nothing needs making." in text


def test_a_house_of_many_preparations_runs_on_to_another_page() -> None:
    lines = [line(f"syrup number {n:02}", make=650.0 if n < 20 else 0.0, makings=1.0, saves=9.0) for n in range(60)]
    pages = texts(print_prep_list(listed(*lines), "A4").pdf)
    assert 2 <= len(pages) <= 4
    assert all(f"syrup number {n:02}" in " ".join(pages) for n in range(60))
