"""The shortlist's order and what it keeps apart."""

from stillroom.analysis.menu.rework import Evidence, shortlist

LINES = [
    Evidence(subject="Fizz", field="sales", figure="8 a day", sureness="sure", do="find out why", money=30.0),
    Evidence(subject="Fizz", field="margin", figure="EUR 6", sureness="likely", do="another price", money=200.0),
    Evidence(subject="Fizz", field="panel", figure="cannot tell", sureness="cannot tell"),
    Evidence(subject="Sour", field="sales", figure="20 a day", sureness="sure"),
    Evidence(subject="shrub", field="waste", figure="40 % lost", sureness="cannot tell", do="smaller batches"),
    Evidence(subject="syrup", field="keeping", figure="3 of 8", sureness="sure", do="a shorter label"),
    Evidence(subject="cordial", field="waste", figure="30 % lost", sureness="sure", do="smaller batches", money=210.0),
]


def test_money_first_then_the_surest_and_nothing_is_added_up() -> None:
    found = shortlist(LINES)
    assert found["subject"].to_list() == ["cordial", "Fizz", "syrup", "shrub"]
    fizz = found.row(1, named=True)
    assert (fizz["money"], fizz["money_from"]) == (200.0, "margin")  # not 230
    assert fizz["do"] == "find out why; another price"
    assert (fizz["sureness"], fizz["asking"]) == ("sure", 2)
    assert (fizz["panel"], fizz["waste"]) == ("cannot tell", None)


def test_what_asks_for_nothing_is_not_on_it() -> None:
    assert "Sour" not in shortlist(LINES)["subject"].to_list()
    assert shortlist([]).is_empty()
    assert shortlist(LINES[3:4]).is_empty()
