"""The reports that answer for a group, on an invented group whose truth is known."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import polars as pl
import pytest

from group_facts import FIRST, asked, group
from house_builder import plugins
from stillroom.answers.reporting import chosen_reports
from stillroom.errors import StoreError, UsageError
from stillroom.group.reporting import document
from stillroom.objects import Finding, HouseFacts, Report, ReportInputs, ReportResult
from stillroom.plugins.registry import Registry
from stillroom_plugins.reports.panels.report import LEVEL, _asked
from stillroom_reports.document import Document, Entry
from vega_lite import checked

PIERS = HouseFacts(name="The Piers", currency="EUR")


def entry(piers: Document, name: str) -> Entry:
    return next(one for one in piers.entries if one.report.name == name)


def findings(piers: Document, name: str) -> tuple[Finding, ...]:
    return entry(piers, name).result.findings


def test_every_report_that_answers_for_a_group_is_asked(piers: Document) -> None:
    assert piers.faults == ()
    grouped = {name for name, one in plugins().reports.items() if one.grain == "group"}
    assert {one.report.name for one in piers.entries} == grouped
    assert len(grouped) == 7
    assert len(piers.members) == 12
    for one in piers.entries:
        for chart in one.result.charts:
            checked(chart)


def test_the_house_that_wastes_is_named_and_no_other(piers: Document) -> None:
    (found,) = findings(piers, "houses")
    assert found.subject == "Pier 02"
    assert "Fig cordial" in found.sentence
    assert found.act
    assert found.money is not None
    assert found.money > 50
    titles = [chart.title for chart in entry(piers, "houses").result.charts]
    assert titles[0] == "What is lost of Fig cordial in each house"


def test_the_league_names_what_loses_most_and_who(piers: Document) -> None:
    found = findings(piers, "league")
    assert found[0].sentence.startswith("Fig cordial: EUR")
    assert [one.subject for one in found if one.subject] == ["Pier 02"]


def test_a_roll_out_that_sold_more_is_found(piers: Document) -> None:
    (found,) = findings(piers, "rollout")
    assert found.sentence.startswith("Slack Water, version 2: houses sell ")
    assert "more with it" in found.sentence
    assert found.sureness == "sure"
    table = entry(piers, "rollout").result.tables[0].frame.row(0, named=True)
    assert table["low"] < 1.3 < table["high"]
    # Nine of twelve got it; one whose intake failed and one with days missing are left out.
    assert table["served"] + table["waiting"] == 10


def test_those_that_are_behind_are_named(piers: Document) -> None:
    (found,) = findings(piers, "versions")
    assert found.sentence.startswith("Slack Water: 9 of 12 houses are on version 2; ")


def test_panels_of_houses_speak_together(piers: Document) -> None:
    (found,) = findings(piers, "panels")
    assert "over 4 houses" in found.sentence
    assert found.sureness == "sure"


def test_an_interval_leaves_out_nought_just_where_the_panels_can_tell() -> None:
    rng = np.random.default_rng(8)
    scores = [
        {"house": house, "spec": f"spec {spec}", "version": version, "panelist_number": person}
        | {"score": 6 + rng.normal() + 0.25 * spec * version, "attribute": "liking", "scale_low": 1.0}
        | {"scale_high": 9.0, "scale_kind": "hedonic"}
        for spec in range(12)
        for house in ("north", "east", "south", "west")
        for person in range(12)
        for version in (1, 2)
    ]
    asked = _asked(pl.DataFrame(scores))
    told = [one.p_value <= LEVEL for one in asked]
    assert told == [not one.between[0] <= 0 <= one.between[1] for one in asked]
    # Some pairs are clear by themselves, and are so no more among so many.
    assert any(told)
    assert any(one.found.p_value < LEVEL < one.p_value for one in asked)


def test_assortments_that_differ_are_told(piers: Document) -> None:
    said = [one.sentence for one in findings(piers, "assortment")]
    assert "Pier 04 lacks Hay Flip, which 11 of 12 houses sell." in said
    assert any(one.startswith("Pier 03 sells Tomato Leaf Fizz, which no other house sells") for one in said)


def test_books_in_doubt_are_marked_and_left_out(piers: Document) -> None:
    assert {one.subject for one in findings(piers, "books")} == {"Pier 06", "Pier 07", "Pier 08"}
    league = entry(piers, "league").result
    assert not {"Pier 06", "Pier 07", "Pier 08"} & set(league.tables[1].frame["house"])
    assert any("Pier 06, Pier 07 and Pier 08" in note for note in league.notes)


def test_a_group_in_which_nothing_is_unlike_says_so() -> None:
    unlike = ["Pier 02", "Pier 03", "Pier 04", "Pier 06", "Pier 07", "Pier 08"]
    every = group(houses=14, gain=0.0)
    calm = {name: frame.filter(~frame["house"].is_in(unlike)) for name, frame in every.items()}
    found = document(asked(calm), plugins(), PIERS, ["houses", "rollout", "books", "assortment"])
    sentences = {one.report.name: one.result.findings[0].sentence for one in found.entries}
    assert sentences["houses"].startswith("Of 6 things no house loses or sells more than chance")
    assert sentences["rollout"].startswith("Slack Water, version 2: cannot tell whether houses sell more or less")
    assert sentences["books"] == "The books of all 8 houses bear comparison."
    assert sentences["assortment"] == "All 8 houses sell much the same drinks."
    assert found.members == ()


def test_two_houses_are_too_few_and_every_report_says_so() -> None:
    few = {name: frame.filter(frame["house"].is_in(["Pier 01", "Pier 09"])) for name, frame in group(houses=9).items()}
    found = document(asked(few), plugins(), PIERS, [])
    assert found.faults == ()
    sentences = {one.report.name: one.result.findings[0] for one in found.entries}
    assert sentences["houses"].sureness == sentences["rollout"].sureness == "cannot tell"
    assert sentences["panels"].sureness == "cannot tell"


def test_a_group_without_facts_says_what_to_do() -> None:
    with pytest.raises(StoreError, match="stillroom group intake"):
        document(asked({}), plugins(), PIERS, [])


def test_days_that_are_none_and_reports_that_are_not_there_are_told() -> None:
    ask = asked(group(houses=2))
    with pytest.raises(UsageError, match="is before the first"):
        document(ask, plugins(), PIERS, [], FIRST + timedelta(days=9), FIRST)
    with pytest.raises(UsageError, match="There is no report 'nothing'; there are: houses, league, rollout"):
        document(ask, plugins(), PIERS, ["nothing"])
    with pytest.raises(UsageError, match="Report 'season' answers for a house: 'stillroom report season'"):
        document(ask, plugins(), PIERS, ["season"])


def test_a_house_is_not_asked_what_a_group_is() -> None:
    assert not [one.name for one in chosen_reports(plugins(), []) if one.grain == "group"]
    with pytest.raises(UsageError, match="Report 'league' answers for a group: 'stillroom group report league'"):
        chosen_reports(plugins(), ["league"])


def _one(needs: tuple[str, ...], build: Callable[[ReportInputs], ReportResult]) -> Registry:
    """A registry that has a stranger's report on groups alone."""
    report = Report(name="ours", title="Ours", question="What?", needs=needs, build=build, grain="group")
    return replace(plugins(), reports={"ours": report}, owners={"ours": "ours_plugin"})


def test_a_strangers_report_gets_views_and_tables_of_facts_with_the_house() -> None:
    seen = {}

    def build(inputs: ReportInputs) -> ReportResult:
        seen.update(inputs.frames)
        return ReportResult(notes=(inputs.period.label,))

    found = document(asked(group(houses=2)), _one(("houses", "house_drinks"), build), PIERS, [])
    assert found.entries[0].result.notes == ("everything taken in",)
    assert all("house" in frame.columns for frame in seen.values())
    assert set(seen["houses"]["house"]) == {"Pier 01", "Pier 02"}


@pytest.mark.parametrize(
    ("needs", "build", "said"),
    [
        (("batch_fate",), lambda inputs: ReportResult(), "a group has no view or table 'batch_fate'"),
        ((), lambda inputs: 1 / 0, "division by zero"),
        ((), lambda inputs: None, "its build returned NoneType, not ReportResult"),
    ],
)
def test_a_report_that_fails_is_named_with_its_plugin(needs, build, said) -> None:
    with pytest.raises(UsageError, match=f"Report 'ours' of plugin 'ours_plugin' failed .*{said}"):
        document(asked(group(houses=2)), _one(needs, build), PIERS, [])
