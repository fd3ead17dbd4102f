"""A whole house taken in by its person: a folder of books as they are, plain answers on a terminal, every figure."""

from __future__ import annotations

import re

import pytest

import stillroom
import whole_house
from house_builder import command
from terminal import Terminal

ANSWERS = {
    r"^\? 'Montant TTC' says": "20",
    r"kelp tea 1\.3\. +kelp tea": "batch = Nr.",  # a label was made, and the book has its own
    r"^\d of \d {3}Olives": "n",
}
"""What its person knows better than the best guess; to all else they press Enter."""
MOST_ANSWERS = 60


@pytest.fixture(scope="module")
def taken_in(tmp_path_factory):
    """The house, what was shown, and the files as they were."""
    folder = tmp_path_factory.mktemp("whole")
    command("new", folder / "house")
    mine = whole_house.write(folder / "my-files")
    before = {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()}
    terminal = Terminal("look", mine, house=folder / "house")
    left, seen = dict(ANSWERS), terminal.asks()
    for _ in range(MOST_ANSWERS):
        if seen is None:
            break
        pattern = next((one for one in left if re.search(one, seen, re.MULTILINE)), None)
        seen = terminal.goes_on(left.pop(pattern) if pattern else "")
    assert seen is None
    assert not left
    assert before == {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()}
    return stillroom.open(folder / "house"), terminal


def test_all_lands_and_nothing_is_set_aside(taken_in):
    house, terminal = taken_in
    assert terminal.child.exitstatus == 0
    assert house.aside().is_empty()
    assert "Every till name has its match." in terminal.shown
    sources = {source.name: source.files for source in house.settings.sources}
    assert sources["caisse"] == ("my-files/caisse/*.csv",)
    assert sources["ansätze"] == ("my-files/ansätze 2026*.csv",)  # its days have no year


def test_serves_and_money(taken_in):
    house, _ = taken_in
    sold = house.sql("SELECT spec, sum(serves), sum(net_amount) FROM daily_serves GROUP BY spec").rows()
    assert {spec: serves for spec, serves, _ in sold} == whole_house.SERVES
    assert {spec: net for spec, _, net in sold} == pytest.approx(whole_house.NET, abs=0.001)
    assert house.view("other_sales")["net_amount"].sum() == pytest.approx(whole_house.OTHER_NET)
    assert house.view("unmatched_sales").is_empty()


def test_costs(taken_in):
    house, _ = taken_in
    rows = house.sql(
        "SELECT c.spec, version, cost FROM spec_cost AS c JOIN spelling USING (name_key) WHERE kind = 'drink'"
    )
    costs = {(spec, version): cost for spec, version, cost in rows.rows()}
    assert costs == pytest.approx(whole_house.COSTS)


def test_fates(taken_in):
    house, _ = taken_in
    columns = "batch, made, used, poured_away, spoiled, left_at_use_by, on_hand"
    fates = {batch: tuple(rest) for batch, *rest in house.sql(f"SELECT {columns} FROM batch_fate").rows()}
    assert fates == {batch: pytest.approx(fate) for batch, fate in whole_house.FATES.items()}


def test_means(taken_in):
    house, _ = taken_in
    means = house.sql("SELECT version, attribute, avg(score) FROM panel_scores GROUP BY ALL").rows()
    assert {(version, attribute): mean for version, attribute, mean in means} == pytest.approx(whole_house.MEANS)
