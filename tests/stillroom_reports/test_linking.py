from stillroom_reports.linking import Links

LINKS = Links({"Fig Sour": "thing-fig-sour", "fig": "thing-fig", "A & B": "thing-a-b"})


def test_every_name_in_a_sentence_leads_to_its_sheet():
    said = str(LINKS.text("Fig Sour takes fig <b>."))
    assert said == '<a href="#thing-fig-sour">Fig Sour</a> takes <a href="#thing-fig">fig</a> &lt;b&gt;.'


def test_a_part_of_a_word_and_the_sheets_own_name_are_no_links():
    assert "<a" not in str(LINKS.text("figs, prefig"))
    assert "<a" not in str(LINKS.text("Fig Sour", but_not="fig sour"))


def test_a_cell_is_a_link_where_it_is_a_name_and_nothing_else():
    assert str(LINKS.cell("A & B")) == '<a href="#thing-a-b">A &amp; B</a>'
    assert str(LINKS.cell("Fig Sour, version 2")) == "Fig Sour, version 2"


def test_a_name_leads_to_its_sheet_with_whatever_accents_and_case_it_is_written():
    links = Links({"Crème de Figue": "thing-creme"})
    assert links.to("creme de figue") == "thing-creme"
    assert "<a" not in str(links.text("Crème de Figue", but_not="Creme de figue"))


def test_without_names_text_stays_text():
    assert str(Links({}).text("a < b, 5 %")) == "a &lt; b, 5\u00a0%"
