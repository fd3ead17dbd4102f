from dataclasses import replace

import pytest

from sample_document import one_report, sample_document
from stillroom.objects import Finding
from stillroom_reports.text import render_text


@pytest.mark.parametrize("width", [40, 80, 200])
def test_every_finding_to_act_on_is_there_within_the_width(width):
    document = sample_document()
    text = render_text(document, width)
    words = " ".join(text.split())
    acting = [f for entry in document.entries for f in entry.result.findings if f.act]
    assert len(acting) == 12
    for finding in acting:
        assert finding.sentence in words
        assert finding.evidence in words
    assert "too short to judge" not in words
    assert max(len(line) for line in text.splitlines()) <= width


def test_it_says_how_sure_and_where_from():
    assert "[likely; Expiry]" in render_text(sample_document())


def test_nothing_to_act_on_is_said():
    assert "No report found anything to act on" in render_text(one_report())


def test_what_could_not_be_done_is_said():
    assert "  ! Plugin 'x' failed." in render_text(replace(one_report(), faults=("Plugin 'x' failed.",)))


def test_a_name_cannot_command_the_terminal():
    finding = Finding(sentence="Red \x1b[31mSour\x07\r", evidence="\x9b2J", act=True)
    text = render_text(one_report(findings=(finding,)))
    assert all(character.isprintable() or character == "\n" for character in text)
    assert "Red �[31mSour" in text


def test_what_needs_no_act_is_told_when_the_whole_is_asked_for():
    told = Finding(sentence="The panel cannot tell.", evidence="9 scores.", sureness="cannot tell")
    document = one_report(findings=(told, Finding(sentence="Do it.", evidence="1 row.", act=True)))
    assert "cannot tell" not in render_text(document)
    text = render_text(document, whole=True)
    assert text.index("  1 Do it.") < text.index("Also found") < text.index("  2 The panel cannot tell.")


def test_no_line_parts_a_number_from_its_unit():
    finding = Finding(sentence="Poured away 19\u2009430 ml for EUR 5\u2009867, 45 % of it.", evidence="x", act=True)
    for width in range(24, 60):
        text = render_text(one_report(findings=(finding,)), width)
        assert all(f"{whole}" in text for whole in ("19 430 ml", "EUR 5 867", "45 %"))
