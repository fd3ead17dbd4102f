"""One entry a subject, joined from all reports: the largest sum first, what is certain before what is not."""

from stillroom.answers.review.lists import to_decide, to_mend
from stillroom.objects import Finding, Report, ReportResult


def report(name, *findings):
    made = Report(name=name, title=name, question="?", needs=(), build=lambda inputs: ReportResult())
    return made, ReportResult(findings=findings)


def finding(subject, **changed):
    said = {"sentence": f"{subject}: something.", "evidence": "", "subject": subject, "act": True}
    return Finding(**{**said, **changed})


def test_findings_of_one_subject_are_one_entry_and_their_sums_are_not_added_up():
    results = [
        report("season", finding("Knot", money=1196.0, do="look at its price", why="It earns little.")),
        report("change", finding("knot", money=300.0, do="go back", why="It fell.")),
    ]
    [item] = to_decide(results)
    assert (item.subject, item.money, item.do) == ("Knot", 1196.0, "look at its price")
    assert item.why == "It earns little. It fell."
    assert item.reports == ("season", "change")


def test_the_largest_sum_is_first_and_what_cannot_be_told_is_last():
    results = [
        report(
            "one",
            finding("A", money=5.0),
            finding("B", money=900.0, sureness="cannot tell"),
            finding("C", money=40.0, sureness="likely"),
            finding("D"),
        )
    ]
    assert [item.subject for item in to_decide(results)] == ["C", "A", "D", "B"]


def test_what_is_known_of_a_subject_speaks_before_what_is_not():
    results = [report("one", finding("A", money=9.0, sureness="cannot tell", do="wait"), finding("A", do="go back"))]
    [item] = to_decide(results)
    assert (item.do, item.sureness, item.money) == ("go back", "sure", 9.0)


def test_findings_that_ask_for_nothing_or_are_about_the_data_are_not_decided():
    results = [report("one", finding("A", act=False), finding("B", mend="stillroom match"), finding(""), finding(""))]
    assert [item.subject for item in to_decide(results)] == ["", ""]
    assert [(item.subject, item.mend) for item in to_mend((), results)] == [("B", "stillroom match")]
