"""The hand-out and the sheets on paper, as a reader of PDF finds them."""

from dataclasses import replace

import polars as pl
import pytest

from paper import reader, tags, texts
from sample_document import sample_document
from sample_review import sample_drink, sample_review
from stillroom.objects import Column, ReportResult, ReportTable
from stillroom_reports.paper.hand_out import hand_out
from stillroom_reports.paper.typesetting import BOX

NAMELESS = "\U0010f0ab"  # of private use: no font gives it a sign of its own


def printed(paper="A4", sheets=(), **changed):
    document = sample_document()
    return hand_out(replace(document, review=replace(document.review, **changed)), sheets, paper)


@pytest.fixture(scope="module")
def pdf():
    made = printed()
    assert made.faults == ()
    return made.pdf


def test_two_sides_say_the_season_and_what_is_in_the_drinks(pdf):
    front, back = texts(pdf)
    for said in ("EUR 20 500 sold", "What Drink 3 costs is not known.", "Drink 0", "falling 5.0 % a week", "act 2",
                 "Pour away Hay cream HC-3", "Pear cordial 2.0", "stillroom match"):  # fmt: skip
        assert said in front.replace("\u202f", " ").replace("\xa0", " ")
    assert "sells well, earns near the mark" in back
    assert back.index("What the drinks contain") < back.index("Drink 1 celery") < back.index("ask a licensed")


def test_a_screen_reader_is_led_through_it(pdf):
    """PDF/UA-1 (ISO 14289-1): tagged, in a language, with a title that is shown; figures have words in their place."""
    root = reader(pdf).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader(pdf).metadata.title == "The Lantern House: Spring menu"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    found = tags(pdf)
    assert found["H1"] == 1
    assert found["Table"] == 4
    assert found["TH"] == 5 + 9 + 3 + 2
    assert found["TR"] > 10
    assert found["Figure"] >= 5 + 3


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 210, 297), ("Letter", 215.9, 279.4)])
def test_the_paper_has_its_size(paper, width, height):
    """In mm: ISO 216 and ANSI Y14.1."""
    pages = reader(printed(paper).pdf).pages
    assert len(pages) == 2
    for page in pages:
        assert [float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4] == pytest.approx(
            [width, height], abs=0.1
        )


def test_the_same_season_is_the_same_file(pdf):
    assert printed().pdf == pdf


def test_a_sign_that_no_font_has_is_named_and_the_rest_is_set():
    drink = replace(sample_drink("x"), name=f"Caf\u00e9 {NAMELESS} Žižkov")
    made = printed(sheets=[drink])
    assert made.faults == (f"No font here has the sign U+10F0AB: {BOX} stands for it on paper.",)
    assert f"Café {BOX} Žižkov" in texts(made.pdf)[2]


def test_names_are_text_and_never_a_program():
    name = '#pagebreak() *b* $x$ <l> @r \\ "q" // c'
    made = printed(drinks=tuple(replace(one, name=name) for one in sample_review(1).drinks))
    front, back = texts(made.pdf)
    assert name in front
    assert name in back


def test_sixty_drinks_of_long_names_are_all_there():
    drinks = sample_review(60, name="A drink whose name has forty letters {:02}").drinks
    pages = texts(printed(drinks=drinks).pdf)
    assert len(pages) <= 4
    behind = " ".join(pages[1:])
    for drink in drinks:
        assert drink.name in behind


def test_more_to_mend_than_fits_is_counted():
    mend = sample_review().mend * 15
    front, _ = texts(printed(mend=mend).pdf)
    assert front.count("say which drink each of 3 till names is".capitalize()) == 4
    assert "11 more to mend are on the page." in front


def test_a_sheet_of_paper_each(pdf):
    review = sample_review()
    pages = texts(printed(sheets=review.sheets).pdf)
    assert len(pages) == 4
    assert "version 2, EUR 12.00 for 11.00, 6 Apr" in pages[2]
    assert "Pear cordial: make 755 ml at a time." in pages[3]
    assert "batches/batches.csv, row 11" in pages[3]
    assert "Contains celery, as the price list states. Follow your local code." in pages[3]


def test_a_season_without_anything_is_set_too():
    empty = {"drinks": (), "lost": (), "today": None, "decide": (), "mend": (), "sheets": ()}
    [only] = texts(printed(sentence="No drink was sold in these days.", **empty).pdf)
    assert "No drink was sold in these days." in only


def test_what_is_to_be_decided_has_a_page_to_write_on():
    document = sample_document()
    table = ReportTable(
        name="verdicts",
        title="Keep, rework or drop",
        frame=pl.DataFrame({"subject": ["Fig Sour"], "money": [1204.5], "case": ["Leaves much over."], "more": ["x"]}),
        columns={name: Column(label=name.capitalize()) for name in ("subject", "money", "case", "more")},
        hand_out=("subject", "money", "case"),
    )
    entry = replace(document.entries[0], result=ReportResult(tables=(table,)))
    _, _, decided = texts(hand_out(replace(document, entries=(*document.entries, entry)), (), "A4").pdf)
    assert "Keep, rework or drop Subject Money Case Decided, by whom Fig Sour 1" in decided
    assert "Leaves much over." in decided
    assert "More" not in decided
