"""What-ifs handed to reports as a period is: the built-in one, and a stranger's."""

import json
from dataclasses import replace

import polars as pl
import pytest

from house_builder import command, plugins
from stillroom.answers.menu.as_if import changed_book
from stillroom.answers.menu.request import read_what_if
from stillroom.api import OpenHouse
from stillroom.errors import UsageError
from stillroom.house.settings import load_house
from stillroom.objects import Column, Finding, Report, ReportInputs, ReportResult, ReportTable

ASKED = "drop Long Fig; add New Fig; price Plain Gin=9; keep fig syrup=5 days"


def strangers(inputs: ReportInputs) -> ReportResult:
    """Hands back what it was handed."""
    assert inputs.what_if is not None
    book = inputs.frames["current_spec"]
    sold = inputs.what_if.figures["serves"]
    finding = Finding(sentence=f"{inputs.what_if.label}: {sold.then - sold.today:.0f} serves.", evidence="a test")
    return ReportResult(
        findings=(finding,),
        tables=(ReportTable(name="book", title="The book", frame=book, columns={"spec": Column(label="Spec")}),),
    )


@pytest.fixture(scope="module")
def house(menu_house):
    own = Report(
        name="mine", title="Mine", question="What is handed over?", needs=("current_spec", "service_span"),
        build=strangers, on="what-if",
    )  # fmt: skip
    known = plugins()
    registry = replace(known, reports={**known.reports, "mine": own}, owners={**known.owners, "mine": "mine"})
    return OpenHouse(settings=load_house(menu_house.settings.folder, registry), registry=registry)


@pytest.fixture(scope="module")
def document(house):
    return house.document(["change"], what_ifs=[read_what_if(ASKED), read_what_if("drop Plain Gin")])


def test_each_what_if_is_a_section_of_each_report_on_them(document):
    assert document.faults == ()
    assert {entry.report.name for entry in document.entries} == {"change", "mine-1", "mine-2", "what-if-1", "what-if-2"}
    titles = {entry.report.name: entry.report.title for entry in document.entries}
    assert titles["what-if-2"] == "What if: without Plain Gin"
    assert titles["mine-1"].startswith("Mine: without Long Fig, with New Fig, Plain Gin at 9")


def test_a_strangers_report_is_handed_the_book_as_the_what_if_has_it(document):
    (book,) = (entry.result.tables[0].frame for entry in document.entries if entry.report.name == "mine-1")
    rows = {row["spec"]: row for row in book.to_dicts()}
    assert str(rows["Long Fig"]["in_service_until"]) == "2026-04-30"
    assert str(rows["New Fig"]["in_service_from"]) == "2026-05-01"
    assert float(rows["Plain Gin"]["price"]) == 9
    assert rows["fig syrup"]["keeps_days"] == 5
    assert rows["Harbour Sour"]["in_service_until"] is None


def test_names_are_found_however_they_are_written(menu_house):
    found = menu_house.what_if(read_what_if("drop Long Fig; price Plain Gin=9"))
    accented = pl.col("spec").replace({"Long Fig": "LÓNG FIG", "Plain Gin": "Pläin Gin"})
    book = changed_book(menu_house.view("current_spec").with_columns(accented), found)
    rows = {row["spec"]: row for row in book.to_dicts()}
    assert str(rows["LÓNG FIG"]["in_service_until"]) == "2026-04-30"
    assert float(rows["Pläin Gin"]["price"]) == 9


def test_the_store_says_afterwards_what_it_said_before(house, document):
    assert document.entries
    book = house.view("current_spec").filter(pl.col("spec") == "Plain Gin")
    assert float(book["price"][0]) == pytest.approx(7.2)


def test_without_a_what_if_no_report_on_them_is_asked(house):
    assert [entry.report.name for entry in house.document(["change"]).entries] == ["change"]
    with pytest.raises(UsageError, match="Report 'mine' answers what-ifs"):
        house.document(["mine"])


@pytest.mark.parametrize(
    ("text", "said"),
    [("dropp Long Fig", "write it like"), ("drop", "write it like"), ("drop Nowhere", "no such drink on the menu")],
)
def test_a_what_if_that_cannot_be_is_one_line_and_no_page_is_written(menu_house, text, said):
    refused = command("report", "change", "--what-if", text, house=menu_house.settings)
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert said in refused.err
    assert not list(menu_house.settings.folder.glob("*.html"))


def test_the_page_and_json_have_the_section(menu_house, tmp_path):
    page = tmp_path / "page.html"
    said = command("report", "change", "--what-if", "add New Fig", "--out", page, house=menu_house.settings)
    assert said.code == 0
    assert "What if: with New Fig" in page.read_text(encoding="utf-8")
    told = command("report", "change", "--what-if", "add New Fig", "--format", "json", house=menu_house.settings)
    section = json.loads(told.out)["reports"][-1]
    assert section["name"] == "what-if-1"
    assert any("sulphites" in finding["sentence"] for finding in section["findings"])
