"""The page of a group: what to do first, a sheet for every house, and nothing that a house's name could do to it."""

from __future__ import annotations

import re
from dataclasses import replace

import polars as pl
import pytest

from sample_document import one_report
from stillroom.answers.house_sheet import Member
from stillroom.objects import Column, ReportTable
from stillroom_reports.document import Document
from stillroom_reports.page import render_page


@pytest.fixture(scope="module")
def page(piers: Document) -> str:
    # A page of the findings, tables and houses; charts are drawn once, in the report that leads.
    first, *rest = piers.entries
    bare = [replace(one, result=replace(one.result, charts=())) for one in rest]
    return render_page(replace(piers, entries=(first, *bare)))


def test_every_house_has_a_sheet_that_its_name_leads_to(page: str) -> None:
    for number in range(1, 13):
        assert page.count(f'id="house-pier-{number:02}"') == 1
        assert f'href="#house-pier-{number:02}"' in page


def test_a_sheet_holds_what_the_reports_say_of_its_house(page: str) -> None:
    sheet = page.split('id="house-pier-02"')[1].split('</section>\n<section class="view')[0]
    assert "more than its size and chance explain" in sheet
    assert "Fig cordial" in sheet
    failed = page.split('id="house-pier-08"')[1]
    assert "last intake failed (no-sales)" in failed[:400]


def test_what_to_do_stands_first(page: str) -> None:
    front = page.split('id="season"')[1].split('id="houses"')[0]
    assert front.index("make less Fig cordial at a time") < front.index("Also known")
    assert "bring Slack Water, version 2 to Pier " in front.replace("Bring", "bring")
    assert "The season" not in page


def test_nothing_is_fetched(page: str) -> None:
    assert not re.findall(r'(?:src|href)="?[a-z]*:?//', page)
    assert "default-src 'none'" in page.replace("&#39;", "'")


def test_a_house_whose_name_is_markup_is_shown_as_text(piers: Document) -> None:
    member = replace(piers.members[0], name="<script>alert(1)</script>")
    page = render_page(replace(piers, members=(member,), entries=()))
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


def test_a_page_of_very_many_houses_holds_the_first_rows_of_each() -> None:
    columns = {"house": Column(label="House"), "drink": Column(label="Drink")}
    rows = pl.DataFrame({"house": ["Pier 1"] * 9, "drink": [f"Drink {number}" for number in range(9)]})
    table = ReportTable(name="drinks", title="Drinks", frame=rows, columns=columns, subjects="house")
    few = replace(one_report(tables=(table,)), members=(_member(1), _member(2)))
    many = replace(few, members=tuple(_member(number) for number in range(1, 202)))
    for document, whole in ((few, True), (many, False)):
        sheet = render_page(document).split('id="house-pier-1"')[1].split('id="house-pier-2"')[0]
        assert ("Drink 8" in sheet) == whole
        assert ("3 more rows are in the CSV and JSON exports." in sheet) != whole


def _member(number: int) -> Member:
    return Member(name=f"Pier {number}", says="", facts=(), notes=())
