import base64
import hashlib
import re
import subprocess
import sys
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import polars as pl
import pytest

from sample_document import bar_chart, hostile_document, one_report, sample_document
from stillroom.objects import Column, Finding, ReportChart, ReportTable
from stillroom_reports.chart_library import chart_library
from stillroom_reports.page import FIRST_SCREEN, render_page
from stillroom_reports.tables import FOLDED_TO, LONG

VOID = {"meta", "img", "br", "hr", "input", "link"}


class Page(HTMLParser):
    """A page taken apart by the standard library's parser; complains of elements that are not closed in order."""

    def __init__(self, text):
        super().__init__()
        self.elements, self.open, self.scripts, self.styles, self.words = [], [], [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attributes):
        self.elements.append((tag, dict(attributes)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open[-1:] == ["script"]:
            self.scripts.append((self.elements[-1][1].get("type"), data))
        elif self.open[-1:] == ["style"]:
            self.styles.append(data)
        else:
            self.words.append(data)

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def policy(self):
        (content,) = [meta["content"] for meta in self.all("meta") if meta.get("http-equiv")]
        return {rule.split()[0]: rule.split()[1:] for rule in content.split(";")}


@pytest.fixture(scope="module")
def sample():
    return render_page(sample_document())


def test_the_same_document_gives_the_same_bytes(sample):
    code = (
        "import hashlib; from sample_document import sample_document; from stillroom_reports.page import render_page;"
        "print(hashlib.sha256(render_page(sample_document()).encode()).hexdigest())"
    )
    run = [sys.executable, "-c", code]
    tests = Path(__file__).parents[1]
    other = subprocess.run(run, capture_output=True, text=True, check=True, cwd=tests).stdout.strip()
    assert hashlib.sha256(sample.encode()).hexdigest() == other
    assert render_page(sample_document()) == sample


def test_the_policy_lets_run_what_is_on_the_page_and_nothing_else(sample):
    """W3C Content Security Policy level 3: hash sources are base64 of the SHA-256 of the element's text."""
    page = Page(sample)

    def sources(texts):
        return [f"'sha256-{base64.b64encode(hashlib.sha256(t.encode()).digest()).decode()}'" for t in texts]

    run = [text for kind, text in page.scripts if kind is None]
    assert len(run) == 2
    assert page.policy == {
        "default-src": ["'none'"],
        "script-src": sources(run),
        "style-src": sources(page.styles),
        "base-uri": ["'none'"],
        "form-action": ["'none'"],
    }


def test_nothing_on_the_page_asks_for_anything(sample):
    page = Page(sample)
    assert not {"img", "link", "iframe", "object", "embed", "form"} & {tag for tag, _ in page.elements}
    for _, attributes in page.elements:
        assert "src" not in attributes
        assert "style" not in attributes
        assert not any(name.startswith("on") for name in attributes)
        assert attributes.get("href", "#").startswith("#")


def test_links_lead_to_sections_of_the_page(sample):
    page = Page(sample)
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    links = [attributes["href"][1:] for attributes in page.all("a")]
    assert len(links) == 3 + 12 + 3  # to each report, from each finding to act on, and back from each report
    assert set(links) <= set(ids)


def test_ten_charts_share_one_library_and_stay_under_two_megabytes():
    text = render_page(one_report(charts=tuple(bar_chart(f"c{n}", rows=40) for n in range(10))))
    assert text.count(chart_library()) == 1
    assert text.count("data-chart=") == 10
    assert len(text.encode()) < 2_000_000


def test_without_charts_there_is_no_library():
    text = render_page(one_report())
    assert chart_library() not in text
    assert len(text) < 40_000


def test_names_cannot_leave_their_place():
    text = render_page(hostile_document())
    page = Page(text)
    assert len([kind for kind, _ in page.scripts if kind is None]) == 2
    assert not page.all("img")
    assert "49" not in "".join(page.words)  # {{7*7}} was not taken for a template
    for place in ("title", "h1", "h2", "p", "caption", "th", "td", "li", "dd", "figcaption"):
        assert page.all(place), place
    # In words once for each place where a name can stand, each as it was given.
    assert "".join(page.words).count("<script>window.harmed=1</script>") >= 20


def test_what_cannot_be_shown_has_a_line_in_its_place_and_the_rest_goes_on():
    table = ReportTable(name="t", title="T", frame=pl.DataFrame({"a": [1]}), columns={"b": Column(label="B")})
    broken = ReportChart(name="c", title="C", chart=None)
    text = render_page(one_report(tables=(table,), charts=(broken, bar_chart()), notes=("Still here",)))
    assert "This table is not shown: it has no column &#39;b&#39;." in text
    assert "This chart is not shown: it is a NoneType, not an Altair chart." in text
    assert text.count("data-chart=") == 1
    assert "Still here" in text


def test_the_first_screen_holds_the_heaviest_findings_and_the_rest_is_folded():
    findings = tuple(Finding(sentence=f"Number {n}.", evidence="", act=True, weight=n) for n in range(FIRST_SCREEN + 3))
    text = render_page(one_report(findings=findings))
    shown, folded = re.search(r'<h2 id="acting">(.*?)<details class="more">(.*?)</details>', text, re.DOTALL).groups()
    assert re.findall(r"Number (\d+)\.", shown) == [str(n) for n in range(FIRST_SCREEN + 2, 2, -1)]
    assert re.findall(r"Number (\d+)\.", folded) == ["2", "1", "0"]
    assert "3 more" in folded


def test_sureness_is_said_in_words(sample):
    words = [word.strip() for word in Page(sample).words]
    assert {"sure", "likely", "cannot tell"} <= set(words)


def test_a_long_table_is_folded_but_whole():
    def rows(height):
        frame = pl.DataFrame({"n": range(height)})
        table = ReportTable(name="t", title="T", frame=frame, columns={"n": Column(label="n")})
        return render_page(one_report(tables=(table,)))

    assert 'class="rest"' not in rows(LONG)
    text = rows(LONG + 1)
    assert f"All {LONG + 1} rows" in text
    shown, rest = text.split('<tbody class="rest">')
    assert shown.count('<th scope="row"') == FOLDED_TO
    assert rest.count('<th scope="row"') == LONG + 1 - FOLDED_TO


def test_tables_and_headings_are_marked_up_for_who_cannot_see(sample):
    page = Page(sample)
    assert len(page.all("caption")) == len(page.all("table")) == 2
    assert {attributes["scope"] for attributes in page.all("th")} == {"col", "row"}
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    titles = {attributes["id"] for attributes in page.all("figcaption")}
    drawings = [attributes for attributes in page.all("div") if "data-chart" in attributes]
    assert len(drawings) == 6
    assert {attributes["aria-labelledby"] for attributes in drawings} == titles


def test_faults_and_nothing_found_are_said():
    from dataclasses import replace

    text = render_page(replace(one_report(), faults=("Plugin 'x' failed.",), entries=()))
    assert "1 thing could not be done" in text
    assert "Plugin &#39;x&#39; failed." in text
    assert "No report found anything to act on in this period." in text
