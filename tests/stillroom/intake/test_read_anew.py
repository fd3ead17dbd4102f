"""A file that was taken in is read anew once a setting says that it means something else."""

from __future__ import annotations

import pytest

from house_builder import HOUSE, command, current, good, make_house, plugins, put, reasons, take_in
from stillroom.house.settings import load_house

pytestmark = pytest.mark.usefixtures("rows_alone")

TILL = '[[source]]\nname = "till"\nplugin = "till-export"\nfiles = ["t.csv"]\n'


@pytest.mark.parametrize(
    "setting",
    [
        'time_zone = "Asia/Tokyo"',
        'dates_are = "business days"',
        'date_format = "%d/%m/%Y %H:%M"',
        'decimal = ","',
        "tax_pct = 20",
        'names_end_at = [" ("]',
        'totals = ["Summe"]',
        '[source.constants]\nvenue = "Bar"',
    ],
)
def test_a_setting_of_the_source_changes_how_its_files_are_read(tmp_path, setting):
    house = make_house(tmp_path, HOUSE + TILL)
    put(tmp_path, "t.csv", [good("sale")])
    assert [one.status for one in take_in(house)] == ["landed"]
    assert [one.status for one in take_in(house)] == ["unchanged"]
    (tmp_path / "stillroom.toml").write_text(f"{HOUSE}{TILL}{setting}\n")
    [again] = take_in(load_house(tmp_path, plugins()))
    assert (again.status, again.replaced_intake) == ("landed", 1)


def test_so_does_the_clock_of_the_house(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL)
    put(tmp_path, "t.csv", [good("sale")])
    take_in(house)
    (tmp_path / "stillroom.toml").write_text(f'{HOUSE}time_zone = "Asia/Tokyo"\n{TILL}')
    assert [one.replaced_intake for one in take_in(load_house(tmp_path, plugins()))] == [1]


def test_rows_whose_partner_is_gone_are_set_aside_at_the_next_intake(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "batch/x.csv", [good("batch", batch="x")])
    put(tmp_path, "batch_event/e.csv", [good("batch_event", batch="x"), good("batch_event", batch="y")])
    take_in(house)
    assert command("undo", 1, house=house).code == 0
    (tmp_path / "batch" / "x.csv").unlink()
    put(tmp_path, "batch/y.csv", [good("batch", batch="y")])
    assert [one.status for one in take_in(house)] == ["landed", "landed"]
    assert current(house, "batch_event", "batch") == [("y",)]
    assert [(column, value) for _, column, _, value in reasons(house)] == [("batch", "x")]
    assert [one.status for one in take_in(house)] == ["unchanged", "unchanged"]
