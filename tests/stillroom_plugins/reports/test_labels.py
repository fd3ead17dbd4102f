"""Names beside points: where they go, and that every point has one."""

import polars as pl

from stillroom_plugins.reports._labels import placed_labels


def _placed(rows):
    frame = pl.DataFrame(rows, schema=["x", "y", "name"], orient="row")
    return placed_labels(frame, x="x", y="y", text="name", width=640, height=380)["place"].to_list()


def test_names_far_apart_all_find_a_place():
    assert None not in _placed([(1.0, 1.0, "Fig Sour"), (5.0, 5.0, "Pear Fizz"), (9.0, 9.0, "Kelp")])


def test_every_point_of_a_heap_has_its_name():
    heap = [(5.0 + place / 100, 5.0 + place / 100, f"A drink with a long name, {place}") for place in range(20)]
    assert None not in _placed([(0.0, 0.0, "Fig Sour"), (9.0, 9.0, "Kelp"), *heap])
