"""`stillroom prep-list` on paper."""

from datetime import date, timedelta

from house_builder import command, good, make_house, put, take_in
from paper import texts

MONDAY = date(2026, 3, 2)


def test_the_list_is_written_into_the_house_with_what_to_buy(tmp_path):
    house = make_house(tmp_path)
    cordial = good("spec", spec="Fig Cordial", kind="preparation", yield_amount=650, yield_unit="ml", keeps_days=5)
    put(tmp_path, "spec/spec.csv", [good("spec", price=9), cordial])
    lines = [
        good("spec_line", item="Fig Cordial", amount=50),
        good("spec_line", spec="Fig Cordial", item="figs", unit="g"),
    ]
    put(tmp_path, "spec_line/spec_line.csv", lines)
    figs = good("ingredient", item="figs", pack_amount=1, pack_unit="kg", pack_cost=3)
    put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), figs])
    sales = [good("sale", sold_at=f"{MONDAY + timedelta(days=n)} 20:00", quantity=9) for n in range(28)]
    put(tmp_path, "sale/sale.csv", sales)
    put(tmp_path, "batch/batch.csv", [good("batch")])
    take_in(house)
    said = command("prep-list", "--format", "pdf", house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out == f"Wrote {tmp_path / 'prep-list.pdf'}\n"
    [text] = texts((tmp_path / "prep-list.pdf").read_bytes())
    assert "Monday 30 Mar 2026" in text
    assert "Fig Cordial" in text.split("Make, in this order")[1].split("To buy")[0]
    assert "figs" in text.split("To buy")[1]
    assert "1 pack of 1 kg" in text.replace("\xa0", " ")
