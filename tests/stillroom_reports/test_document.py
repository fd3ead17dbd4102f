from dataclasses import replace

import pytest

from sample_document import one_report
from stillroom.objects import Finding
from stillroom_reports.document import by_rank, safe_name, to_act_on


def _finding(sentence, weight, act=True):
    return Finding(sentence=sentence, evidence="", act=act, weight=weight)


FINDINGS = (_finding("light", 1), _finding("said only", 99, act=False), _finding("heavy", 5), _finding("also light", 1))


def test_reports_take_turns_with_their_heaviest_finding():
    first = one_report(findings=FINDINGS)
    second = one_report(findings=(_finding("other", 1000),))
    document = replace(first, entries=(*first.entries, *second.entries))
    assert [finding.sentence for _, finding in to_act_on(document)] == ["heavy", "other", "light", "also light"]


def test_within_a_report_what_to_act_on_comes_first():
    assert [finding.sentence for finding in by_rank(FINDINGS)] == ["heavy", "light", "also light", "said only"]


@pytest.mark.parametrize(
    ("name", "safe"), [("../../etc/passwd", "etc-passwd"), ("", "unnamed"), ("Crème & co", "Cr-me-co"), ("a-b", "a-b")]
)
def test_a_safe_name_leads_nowhere(name, safe):
    assert safe_name(name) == safe


def test_what_is_said_again_of_a_subject_comes_after_everything_new():
    def about(report, *subjects):
        found = [_finding(f"{report}: {subject}", -place) for place, subject in enumerate(subjects)]
        named = (replace(finding, subject=subject) for finding, subject in zip(found, subjects, strict=True))
        return one_report(findings=tuple(named))

    first, second = about("one", "Fig", "Plum", ""), about("two", "Fig", "Quince", "")
    document = replace(first, entries=(*first.entries, *second.entries))
    sentences = [finding.sentence for _, finding in to_act_on(document)]
    assert sentences == ["one: Fig", "one: Plum", "two: Quince", "one: ", "two: ", "two: Fig"]
