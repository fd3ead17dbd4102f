"""A drink on the menu map."""

import re
from dataclasses import replace
from xml.etree import ElementTree

from sample_review import sample_drink
from stillroom.answers.review.sheet_objects import Spot
from stillroom_reports.map_picture import menu_map

PLACE = sample_drink("Drink 1").place


def test_the_drink_lies_between_the_ends_of_its_ranges_and_on_its_side_of_the_marks():
    drawing = ElementTree.fromstring(menu_map(PLACE, "EUR"))
    own = drawing.find("circle[@class='own']")
    across, up = drawing.findall("line[@class='range']")
    assert percent(across.get("x1")) < percent(own.get("cx")) < percent(across.get("x2"))
    assert float(up.get("y2")) < float(own.get("cy")) < float(up.get("y1"))
    average, mark = drawing.findall("line[@class='mark']")
    assert percent(own.get("cx")) < percent(average.get("x1"))  # earns little
    assert float(own.get("cy")) < float(mark.get("y1"))  # sells well
    assert "8.5 % of the serves" in drawing.get("aria-label")
    assert len(drawing.findall("circle[@class='other']")) == 1


def test_names_are_harmless():
    hostile = replace(
        PLACE, own=replace(PLACE.own, name="<b>&'\""), others=(Spot(name="<i>", share=0, contribution=1),)
    )
    ElementTree.fromstring(menu_map(hostile, "<u>"))
    assert not re.search("<[biu]>", menu_map(hostile, "<u>"))


def test_one_drink_alone_has_a_map_too():
    alone = replace(PLACE, others=(), share_range=(0.085, 0.085), contribution_range=(6.71, 6.71), average=6.71)
    assert 'class="own"' in menu_map(alone, "EUR")


def percent(text):
    return float(text.removesuffix("%"))
