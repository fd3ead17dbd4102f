"""Aims as they are typed."""

from __future__ import annotations

import pytest

from stillroom.analysis.bench.aims import miss, reached, read_aim
from stillroom.analysis.specs.contents import Contents
from stillroom.errors import UsageError


@pytest.mark.parametrize(
    ("text", "figure", "relation", "value", "unit"),
    [
        ("brix=40", "brix", "=", 40, ""),
        ("acid = 1,2 %", "acid", "=", 1.2, "%"),
        ("strength=18 %", "strength", "=", 18, "%"),
        ("ABV >= 18", "strength", ">=", 18, "%"),
        ("cost<=0.35/serve", "cost", "<=", 0.35, "/serve"),
        ("Sugar to acid ≤ 12", "sugar to acid", "<=", 12, ""),
        ("volume=1.5 l", "volume", "=", 1.5, "l"),
    ],
)
def test_aims_are_read(text, figure, relation, value, unit):
    aim = read_aim(text)
    assert (aim.figure, aim.relation, aim.value, aim.unit) == (figure, relation, value, unit)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("brix", "is not an aim"),
        ("sweet=4", "there is no figure 'sweet'; there are: brix"),
        ("brix=40 g", "brix is not given in 'g'"),
        ("acid=-1", "0 or more"),
        ("volume=1.500,0", "without marks between thousands"),
        ("pH=3.1", "pH does not follow"),
    ],
)
def test_what_cannot_be_aimed_at_is_one_sentence(text, says):
    with pytest.raises(UsageError, match=says):
        read_aim(text)


@pytest.mark.parametrize(
    "text", ["brix={}", "sugar={} g/l", "acid={} %", "acid={} g/l", "strength={} %", "sugar to acid={}", "volume={} cl"]
)
def test_an_aim_is_met_where_its_figure_is_reached(text):
    glass = Contents(water_g=70.0, alcohol_g=12.0, sugar_g=9.0, acid_g=0.8)
    there = reached(read_aim(text.format("1")), glass, 0.5, 1.0)
    assert there is not None
    assert miss(read_aim(text.format(there)), glass, 0.5, 1.0) == pytest.approx(0, abs=1e-9)
    assert miss(read_aim(text.format(there * 0.8)), glass, 0.5, 1.0) == pytest.approx(0.25, abs=1e-9)
