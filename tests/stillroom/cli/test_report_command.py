"""`stillroom report`: the charts as pictures, and the hand-out."""

import pytest

from house_builder import HOUSE, SOURCES, command, csv_text, good, make_house, put, take_in
from paper import reader, texts


def test_charts_are_written_as_pictures_one_a_file(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec", in_service_from="2026-01-01")])
    put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"2026-03-{day:02} 20:00") for day in (2, 9)])
    take_in(house)
    said = command("report", "season", "--format", "svg", house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out == f"Wrote {tmp_path / 'report-charts'}\n"
    (picture,) = (tmp_path / "report-charts").iterdir()
    assert picture.name == "season-weeks.svg"
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_the_hand_out_is_written_with_the_sheets_asked_for(tmp_path):
    house = make_house(tmp_path, HOUSE + 'paper = "Letter"\n' + SOURCES)
    put(tmp_path, "spec/spec.csv", [good("spec", price=9)])
    put(tmp_path, "spec_line/spec_line.csv", [good("spec_line")])
    put(tmp_path, "ingredient/ingredient.csv", [good("ingredient", allergens="celery")])
    put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"2026-03-{day:02} 20:00") for day in (2, 9)])
    take_in(house)
    said = command("report", "--format", "pdf", "--sheet", "fig sour", house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out == f"Wrote {tmp_path / 'hand-out.pdf'}\n"
    pdf = (tmp_path / "hand-out.pdf").read_bytes()
    assert [float(length) for length in reader(pdf).pages[0].mediabox[2:]] == [612, 792]
    _, back, decided, sheet = texts(pdf)
    assert "Fig Sour 2 1.0 18" in back
    assert "Fig Sour celery" in back
    assert "Keep, rework or drop" in decided
    assert "50 ml" in sheet
    said = command("report", "--format", "pdf", "--sheet", "fig", house=house)
    assert (said.code, said.err) == (2, "There is no spec 'fig'. Did you mean 'Fig Sour'?\n")


def test_a_hand_out_is_of_the_whole_season_and_sheets_go_with_it(tmp_path):
    house = make_house(tmp_path)
    said = command("report", "season", "--format", "pdf", house=house)
    assert (said.code, said.err) == (
        2,
        "--format pdf writes the hand-out of the whole season: leave out the names of reports.\n",
    )
    said = command("report", "--sheet", "fig", house=house)
    assert (said.code, said.err) == (
        2,
        "--sheet goes with --format pdf; 'stillroom show NAME' shows a sheet here.\n",
    )


def test_some_reports_go_onto_a_page_of_their_own_and_leave_the_whole_one_alone(tmp_path):
    house = make_house(tmp_path, sale=csv_text([good("sale")]))
    take_in(house)
    (tmp_path / "report.html").write_text("all of them")
    said = command("report", "cost", "season", house=house)
    assert said.out.endswith(f"Wrote {tmp_path / 'report-cost-season.html'}\n")
    assert (tmp_path / "report.html").read_text() == "all of them"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--from", "2027-01-01"), "The last day in the files, 2026-03-02, is before --from 2027-01-01."),
        (("--to", "2020-01-01"), "--to 2020-01-01 is before the first day in the files, 2026-03-02."),
        (("--from", "2026-03-02", "--to", "2026-03-01"), "--to 2026-03-01 is before --from 2026-03-02."),
    ],
)
def test_only_an_option_that_was_given_is_blamed(tmp_path, options, said):
    house = make_house(tmp_path, sale=csv_text([good("sale")]))
    take_in(house)
    assert command("report", *options, house=house).err == f"{said}\n"
