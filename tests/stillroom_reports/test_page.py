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
from jinja2 import Environment

from sample_document import bar_chart, hostile_document, one_report, sample_document
from sample_review import sample_review
from stillroom.objects import Column, ReportChart, ReportTable
from stillroom_reports import page
from stillroom_reports.glance import SOME_DRINKS, THIS_WEEK
from stillroom_reports.page import SCRIPTS, render_page
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
    assert len(run) == len(SCRIPTS)
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


def test_links_lead_to_places_of_the_page(sample):
    page = Page(sample)
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    links = [attributes["href"][1:] for attributes in page.all("a")]
    assert {"season", "questions", "rests", "report-season", "report-expiry", "report-panel"} <= set(links) <= set(ids)


def test_ten_charts_are_drawn_on_the_page_itself():
    text = render_page(one_report(charts=tuple(bar_chart(f"c{n}", rows=40) for n in range(10))))
    assert text.count('<figure class="chart') == 10
    assert text.count(' class="marks"') == 20  # for a desk and for a phone
    assert "vega" not in text.lower()
    assert len(text.encode()) < 600_000


def test_names_cannot_leave_their_place():
    text = render_page(hostile_document())
    page = Page(text)
    assert len([kind for kind, _ in page.scripts if kind is None]) == len(SCRIPTS)
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
    assert text.count(' class="marks"') == 2
    assert "Still here" in text


def test_the_first_screen_holds_what_weighs_most_and_the_rest_is_folded(sample):
    week = re.search(r'<h2 id="this-week">(.*?)</section>', sample, re.DOTALL)[1]
    shown, folded = week.split('<details class="more">')
    assert re.findall(r"act (\d)", shown) == [str(n) for n in range(THIS_WEEK)]
    assert re.findall(r"act (\d)", folded) == ["3", "4"]
    assert "2 more" in folded


def test_the_first_screen_says_what_is_not_known(sample):
    words = " ".join(" ".join(Page(sample).words).split())
    for said in ("What Drink 3 costs is not known.", "+6\u00a0% (2 to 9)", "at most 4\u202f790", "stillroom match"):
        assert said in words or said in sample


def test_of_many_drinks_the_first_and_those_marked_are_shown():
    from dataclasses import replace

    text = render_page(replace(one_report(), review=sample_review(drinks=60)))
    picture = re.search(r'<section class="picture"(.*?)</section>', text, re.DOTALL)[1]
    shown, folded = picture.split('<details class="more">')
    assert len(re.findall(r'<th scope="row">', shown)) == SOME_DRINKS
    assert len(re.findall(r'<th scope="row">', folded)) == 60 - SOME_DRINKS


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
    assert shown.count("<tr><td") == FOLDED_TO
    assert rest.count("<tr><td") == LONG + 1 - FOLDED_TO


def test_tables_and_headings_are_marked_up_for_who_cannot_see(sample):
    page = Page(sample)
    reports = [
        table
        for table in page.all("table")
        if table.get("class", "").split()[:1] not in (["dots"], ["bars"], ["plain"])
    ]
    assert len(page.all("caption")) == len(reports) == 2
    assert {attributes["scope"] for attributes in page.all("th")} == {"col", "row"}
    levels = [int(tag[1]) for tag, _ in page.elements if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    titles = {attributes["id"] for attributes in page.all("figcaption") if "id" in attributes}
    drawings = [attributes for attributes in page.all("div") if attributes.get("role") == "img"]
    assert all("aria-labelledby" in attributes or "aria-label" in attributes for attributes in drawings)
    assert {attributes["aria-labelledby"] for attributes in drawings if "aria-labelledby" in attributes} == titles
    assert len(titles) == 6


def test_faults_and_nothing_found_are_said():
    from dataclasses import replace

    nothing = replace(sample_review(), decide=(), mend=())
    text = render_page(replace(one_report(), faults=("Plugin 'x' failed.",), entries=(), review=nothing))
    assert "1 thing could not be done" in text
    assert "Plugin &#39;x&#39; failed." in text
    assert "No report found anything to act on in this period." in text


def test_a_number_is_no_name_of_a_row():
    """On a phone the name stands over its row without a heading, which a number needs."""
    frame = pl.DataFrame({"version": [1, 2], "spec": ["A", "B"], "serves": [3.0, 4.0]})
    columns = {name: Column(label=name.title(), decimals=0) for name in frame.columns}
    unnamed = ReportTable(name="a", title="Versions", frame=frame, columns=columns)
    named = ReportTable(name="b", title="Specs", frame=frame, columns=dict(list(columns.items())[1:]))
    text = render_page(one_report(tables=(unnamed, named)))
    first, second = (text[text.index(f"<span>{title}") :].split("</table>")[0] for title in ("Versions", "Specs"))
    assert '<td class="number">1</td><td class="word">A</td>' in first
    assert 'scope="row"' not in first
    assert second.count('<th scope="row" class="word">') == 2


def test_templates_are_compiled_once_and_again_where_what_is_kept_is_damaged(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    compiled, compile_one = [], Environment.compile

    def counted(self, source, *rest):
        compiled.append(rest)
        return compile_one(self, source, *rest)

    monkeypatch.setattr(Environment, "compile", counted)

    def drawn():
        page._templates.cache_clear()
        compiled.clear()
        return render_page(one_report()), len(compiled)

    first, many = drawn()
    assert drawn() == (first, 0)
    assert many > 4
    kept = sorted((tmp_path / "stillroom" / "templates").iterdir())
    kept[0].write_bytes(kept[0].read_bytes()[:-9] + b"otherwise")
    kept[1].unlink()
    assert drawn() == (first, 2)
    page._templates.cache_clear()
