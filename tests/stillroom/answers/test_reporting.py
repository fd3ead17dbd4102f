"""A report that fails is one sentence that names it and its plugin; the others go on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import NoReturn

import pytest

from house_builder import good, make_house, plugins, put, take_in
from stillroom.answers import reporting
from stillroom.objects import Finding, NoSettings, Period, Report, ReportInputs, ReportResult
from stillroom.store import opening
from stillroom_schemas import TABLES

PERIOD = Period(first=date(2026, 3, 1), last=date(2026, 3, 31), label="March")


def fails(inputs: ReportInputs) -> NoReturn:
    raise ValueError("two\nlines")


def stops(inputs: ReportInputs) -> NoReturn:
    raise SystemExit(3)


def well(inputs: ReportInputs) -> ReportResult:
    return ReportResult(findings=(Finding(sentence="All is well.", evidence="none"),))


def report(name: str, build: Callable[[ReportInputs], object], *needs: str) -> Report:
    return Report(name=name, title=name, question="?", needs=needs, build=build)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("faulty", "said"),
    [
        (report("odd", fails), "Report 'odd' of plugin 'stranger' failed (ValueError: two lines): it is left out."),
        (report("odd", stops), "Report 'odd' of plugin 'stranger' failed (SystemExit: 3): it is left out."),
        (report("odd", lambda inputs: {}), "its build returned dict, not ReportResult"),
        (report("odd", well, "no_such_view"), "no_such_view does not exist"),
    ],
)
def test_it_is_named_and_the_others_go_on(tmp_path, faulty, said):
    house = make_house(tmp_path).model_copy(update={"reports": {"odd": NoSettings(), "well": NoSettings()}})
    put(tmp_path, "sale/sale.csv", [good("sale")])
    take_in(house)
    owners = {"odd": "stranger", "well": "other"}
    with opening.reading(house, TABLES) as con:
        answers = reporting.answer(con, house, [faulty, report("well", well)], PERIOD, (), owners)
    [fault] = answers.faults
    assert fault.startswith("Report 'odd' of plugin 'stranger' failed")
    assert said in fault
    assert [one.name for one, _ in answers.results] == ["well"]


def test_the_plugin_of_every_report_is_known():
    assert plugins().owners["season"] == "stillroom_plugins.reports.season"
    assert set(plugins().owners) == set(plugins().reports)
