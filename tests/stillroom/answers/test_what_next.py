"""What to taste next of a spec, from its panels."""

from __future__ import annotations

import pytest

import stillroom
from house_builder import command, good, make_house, put
from stillroom.answers.draft.what_next_text import what_next_text
from stillroom.errors import UsageError

LINES = {1: (500, 10), 2: (500, 14), 3: (450, 10)}
"""Version -> white sugar and citric acid, g."""
LIKING = {1: 5, 2: 7, 3: 4}


def scores():
    for version, liked in LIKING.items():
        for person in range(6):
            said = good("tasting", session="s1", panelist=f"P{person}", spec="sweet-sour", version=version)
            yield {**said, "attribute": "liking", "score": liked + person % 2}
            yield {**said, "attribute": "sourness", "scale_kind": "just-about-right", "scale_low": 1, "scale_high": 5,
                   "score": (2 if person < 3 else 3) if version == 2 else 1}  # fmt: skip


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    folder = make_house(tmp_path_factory.mktemp("next") / "house").folder
    specs = [
        good("spec", spec=name, kind="preparation", version=version, yield_amount=1000, yield_unit="g",
             in_service_from="2026-01-05" if version == 1 else "")
        for name, versions in (("sweet-sour", LINES), ("plain", [1]))
        for version in versions
    ]  # fmt: skip
    lines = [
        good("spec_line", spec=spec, version=version, line=line, item=item, amount=amount, unit="g")
        for spec, several in (("sweet-sour", LINES), ("plain", {1: (500, 1)}))
        for version, (sugar, acid) in several.items()
        for line, (item, amount) in enumerate([("white sugar", sugar), ("citric acid", acid), ("water", 490)], 1)
    ]
    prices = [
        good("ingredient", item="white sugar", pack_amount=1000, pack_unit="g", pack_cost=2, sugar_pct=100),
        good("ingredient", item="citric acid", pack_amount=100, pack_unit="g", pack_cost=3, acid_pct=100),
    ]
    for table, rows in {"spec": specs, "spec_line": lines, "ingredient": prices, "tasting": list(scores())}.items():
        put(folder, f"{table}/{table}.csv", rows)
    opened = stillroom.open(folder)
    assert {outcome.status for outcome in opened.intake()} == {"landed"}
    return opened


def test_versions_within_a_step_of_the_best_with_their_glass_and_cost(house):
    found = house.what_next("sweet-sour", 3, step=0.2)
    assert found.base.spec.version == 2  # the best liked, not the one in service
    assert set(found.items) == {"white sugar", "citric acid"}
    assert (found.scores, found.people, found.sittings) == (18, 6, 1)
    assert len(found.proposals) == 3
    for one in found.proposals:
        sugar, acid, water = (line.amount for line in one.lines)
        # A step is a share of the amounts in service: 20 % of 500 and of 10 g.
        assert abs(sugar - 500) <= 100
        assert abs(acid - 14) <= 2
        assert water == 490
        assert one.sheet.cost.whole == pytest.approx(0.002 * sugar + 0.03 * acid)
        assert one.sheet.served.brix == pytest.approx(100 * sugar / (sugar + acid + 490))
        assert one.low < one.gain < one.high
    assert len({tuple(line.amount for line in one.lines) for one in found.proposals}) == 3


def test_liking_is_held_beside_the_best_and_penalties_have_their_interval(house):
    found = house.what_next("sweet-sour", 2)
    gains = {one.version: one.gain for one in found.tried}
    assert gains[2] == 0
    assert -3 < gains[1] < -1  # 2 points lower in truth; drawn towards nothing known
    [penalty] = found.penalties.to_dicts()
    # By hand: three found it too little sour, and gave 7, 8, 7; the others 8, 7, 8.
    assert (penalty["attribute"], penalty["side"], penalty["count"]) == ("sourness", "too little", 3)
    assert penalty["drop"] == pytest.approx(1 / 3)
    assert penalty["low"] < penalty["drop"] < penalty["high"]
    said = " ".join(what_next_text(found, "EUR").split())
    assert "sourness too little: 3 of 6; they like it 0.3 less" in said
    assert "Taste these again" not in said


def test_without_a_panel_nothing_is_known_and_what_may_change_is_asked_for(house):
    with pytest.raises(UsageError, match="say what may change, --with"):
        house.what_next("plain", 2)
    found = house.what_next("plain", 2, free=["white sugar=450..520 g"])
    assert found.scores == 0
    assert all(450 <= one.lines[0].amount <= 520 for one in found.proposals)
    assert "Nobody has scored its liking yet" in what_next_text(found, "EUR")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--next", "5"], "two to four versions are tasted"),
        (["--next", "3", "--with", "kelp"], "there is no amount of it to change"),
        (["--next", "3", "--with", "white sugar,citric acid,water,kelp"], "at most 3 change at once"),
        (["--next", "3", "--step", "much"], "is no share"),
        (["--next", "3", "--step", "0.0001"], "no amount can be measured out that is another one"),
        (["--next", "3", "--drop", "water"], "goes with --with and --step alone"),
    ],
)
def test_what_cannot_be_asked_is_one_line(house, arguments, says):
    said = command("draft", "sweet-sour", *arguments, house=house.settings.folder)
    assert said.code == 2
    assert says in said.err
    assert said.err.count("\n") == 1


def test_on_a_terminal(house):
    said = command("draft", "sweet-sour", "--next", "4", house=house.settings.folder)
    assert said.code == 0
    assert max(map(len, said.out.splitlines())) <= 80
    values = command("draft", "sweet-sour", "--next", "2", "--json", house=house.settings.folder).json
    assert (values["beside_version"], len(values["proposals"])) == (2, 2)
