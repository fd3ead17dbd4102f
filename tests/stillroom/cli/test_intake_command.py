"""`stillroom intake`: what it tells of files kept by hand, and of those that are as they were."""

from __future__ import annotations

from house_builder import command, csv_text, good, make_house, put, take_in

FIRST = [good("batch", batch=f"B{n}", made_amount=100 * n) for n in (1, 2, 3)]


def test_a_file_kept_by_hand_says_what_went_what_came_and_what_goes_by_another_name(tmp_path):
    house = make_house(tmp_path, batch=csv_text(FIRST))
    take_in(house)
    put(tmp_path, "batch/batch.csv", [{**FIRST[0], "batch": "B1a"}, FIRST[1], good("batch", batch="B4")])
    said = command("intake", house=house).out
    assert "  Gone from it: B3.\n  New in it: B4.\n  Other name: B1 is now B1a.\n" in said


def test_of_rows_that_are_all_alike_none_is_another_name(tmp_path):
    house = make_house(tmp_path, batch=csv_text([good("batch", batch=f"B{n}") for n in (1, 2)]))
    take_in(house)
    put(tmp_path, "batch/batch.csv", [good("batch", batch=f"C{n}") for n in (1, 2)])
    assert "  Gone from it: B1; B2.\n  New in it: C1; C2.\n" in command("intake", house=house).out


def test_files_that_are_as_they_were_take_one_line(tmp_path):
    house = make_house(tmp_path, batch=csv_text(FIRST), sale=csv_text([good("sale")]), spec=csv_text([good("spec")]))
    take_in(house)
    said = command("intake", house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out.startswith(
        "0 rows landed, 0 set aside, 0 files refused.\n3 files taken in before: nothing changed.\n"
    )
