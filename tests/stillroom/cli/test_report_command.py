"""`stillroom report`: the charts as pictures."""

from house_builder import command, good, make_house, put, take_in


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
