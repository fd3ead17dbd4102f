"""Drawing up a session: codes, key, sheets, ballots, and the way back from codes to versions."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from typer.testing import CliRunner

from house_builder import HOUSE, ask, make_house, plugins, take_in
from panel_frames import drawn_scores, panel
from stillroom.answers.panel_plan.advice import Aim, advice, not_in_the_book
from stillroom.answers.panel_plan.ballots import render_ballots
from stillroom.answers.panel_plan.drawing import METHODS, Attribute, Request, draw_up
from stillroom.answers.panel_plan.files import file_name, write_session
from stillroom.answers.panel_plan.resolving import resolve_answers, resolve_codes
from stillroom.answers.panel_plan.slips import typed_elsewhere
from stillroom.cli.panel import app
from stillroom.errors import UsageError
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.intake.outcome import Outcome

LIKING = Attribute(name="liking", kind="liking")
REQUEST = Request(
    session="Autumn first",
    tasted_on=date(2026, 11, 18),
    spec="Harbour Light",
    versions=(2, 3, 5),
    panelists=tuple(f"P{number:02}" for number in range(1, 13)),
    attributes=(LIKING, Attribute(name="sweet enough", kind="just-about-right")),
    seed=7,
)
SETTINGS = f"""{HOUSE}
[[source]]
name = "tastings"
plugin = "tasting-sheet"
files = ["panels/*.csv"]

[[source]]
name = "trials"
plugin = "trial-sheet"
files = ["tests/*.csv"]
"""


def request_for(method: str, **changes: object) -> Request:
    return replace(REQUEST, method=method, versions=(2, 3), **changes)  # type: ignore[arg-type]


# Drawing -------------------------------------------------------------------------------------------


def test_scored_session_serves_everybody_every_version_in_each_round() -> None:
    key = draw_up(replace(REQUEST, replicates=2)).key
    served = key.group_by("panelist", "replicate").agg(pl.col("version").sort())
    assert served.height == 24
    assert all(versions == [2, 3, 5] for versions in served["version"].to_list())


def test_codes_are_three_digits_and_tell_samples_of_a_session_apart() -> None:
    key = draw_up(replace(REQUEST, replicates=2)).key
    assert key["code"].str.contains(r"^[1-9]\d\d$").all()
    assert key["code"].n_unique() == key.height == 72  # nobody's code is another's: no notes are compared


def test_where_codes_run_short_a_version_shares_one_in_a_round() -> None:
    people = tuple(f"P{number}" for number in range(400))
    key = draw_up(replace(REQUEST, panelists=people)).key
    assert key.select("code", "version").unique().height == 3


@pytest.mark.parametrize("method", METHODS[1:])
def test_every_glass_of_a_difference_test_has_a_code_of_its_own(method: str) -> None:
    key = draw_up(request_for(method, attributes=(LIKING,))).key
    assert key["code"].n_unique() == key.height


@pytest.mark.parametrize(
    ("method", "glasses", "right"),
    [("triangle", 3, 1), ("duo-trio", 3, 1), ("two-out-of-five", 5, 2), ("paired-preference", 2, 0)],
)
def test_right_answers_are_the_ones_the_question_asks_for(method: str, glasses: int, right: int) -> None:
    for served in draw_up(request_for(method)).key.partition_by("panelist"):
        assert served.height == glasses
        answers = served.filter(pl.col("right") == "yes")
        assert answers.height == right
        if method in ("triangle", "two-out-of-five"):
            others = served.filter(pl.col("right") == "no")
            assert set(answers["version"]).isdisjoint(others["version"])
        if method == "duo-trio":
            assert answers["version"].to_list() == served.filter(pl.col("part") == "reference")["version"].to_list()


def test_the_same_seed_draws_the_same_session() -> None:
    assert draw_up(REQUEST).key.equals(draw_up(REQUEST).key)
    assert not draw_up(REQUEST).key.equals(draw_up(replace(REQUEST, seed=8)).key)


def test_more_versions_than_one_should_taste_are_shared_out() -> None:
    drawn = draw_up(replace(REQUEST, versions=tuple(range(1, 8)), samples_at_most=3, panelists=REQUEST.panelists[:7]))
    assert drawn.key.group_by("panelist").len()["len"].to_list() == [3] * 7
    assert drawn.evenness["together"] == (1, 1)


@pytest.mark.parametrize(
    ("request_", "words"),
    [
        (replace(REQUEST, versions=(2,)), "One version alone"),
        (replace(REQUEST, versions=(2, 2)), "version '2' is named twice"),
        (replace(REQUEST, panelists=()), "no panelists"),
        (replace(REQUEST, panelists=("Ann", "ann")), "panelist 'ann' is named twice"),
        (replace(REQUEST, method="triangle"), "compares two versions, not 3"),
        (replace(REQUEST, method="ranking"), "no method 'ranking'; there are: scores, triangle"),
        (replace(REQUEST, attributes=()), "nothing to score"),
        (replace(REQUEST, attributes=(Attribute(name="x", kind="loudness"),)), "no scale 'loudness'"),
        (replace(REQUEST, replicates=0), "--replicates must be 1 or more"),
        (replace(REQUEST, looks=0), "--looks must be 1 or more"),
        (request_for("2-AFC"), "asks which has more of one thing"),
        (replace(REQUEST, samples_at_most=1), "samples_at_most must be 2 or more"),
        (request_for("triangle", panelists=tuple(f"P{n}" for n in range(400))), "needs 1200 codes"),
    ],
)
def test_a_request_that_makes_no_sense_is_refused(request_: Request, words: str) -> None:
    with pytest.raises(UsageError, match=words):
        draw_up(request_)


# Files ---------------------------------------------------------------------------------------------


def test_nothing_but_the_key_tells_a_version(tmp_path: Path) -> None:
    written = write_session(draw_up(replace(REQUEST, versions=(4711, 4712))), tmp_path)
    assert "4711" in written.key.read_text()
    assert "4711" not in written.sheet.read_text() + written.ballots.read_text()
    assert written.key.parent != written.sheet.parent


def test_a_session_is_never_written_over(tmp_path: Path) -> None:
    write_session(draw_up(REQUEST), tmp_path)
    with pytest.raises(UsageError, match="is there already: give the session another name"):
        write_session(draw_up(replace(REQUEST, seed=8)), tmp_path)


def test_a_file_in_the_way_of_the_folder_is_a_clear_line(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    with pytest.raises(UsageError, match="cannot be written to"):
        write_session(draw_up(REQUEST), tmp_path / "taken")


def test_ballots_are_a_page_each_with_names_made_harmless() -> None:
    drawn = draw_up(replace(REQUEST, session="<b>bold</b>", panelists=("<script>alert(1)</script>", "O'Hara & Co")))
    page = render_ballots(drawn)
    assert page.count('<section class="ballot">') == 2
    assert "<script" not in page
    assert "<b>" not in page
    assert "default-src &#39;none&#39;" in page or "default-src 'none'" in page
    assert "Tell the lead before you taste" in page


def test_ballot_shows_the_samples_in_the_order_served() -> None:
    drawn = draw_up(REQUEST)
    page = render_ballots(drawn).split('<section class="ballot">')[1]
    codes = drawn.key.filter(panelist="P01")["code"].to_list()
    places = [page.index(f">{code}<") for code in codes]
    assert places == sorted(places)
    assert page.count('class="box"') == 3 * (9 + 5)


def test_a_spreadsheet_calculates_nothing_from_a_name(tmp_path: Path) -> None:
    written = write_session(draw_up(replace(REQUEST, panelists=("=1+1", "B"))), tmp_path)
    with written.sheet.open() as file:
        assert {row["panelist"] for row in csv.DictReader(file)} == {"'=1+1", "B"}


def test_file_names_hold_no_path() -> None:
    assert file_name("../../etc: a/b") == "etc-a-b"
    assert file_name("///") == "session"


# Resolving -----------------------------------------------------------------------------------------


def _text(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.with_columns(pl.all().cast(pl.String))


def _sheet(rows: list[dict[str, str | None]]) -> pl.DataFrame:
    names = ("session", "panelist", "spec", "version", "code", "score")
    return pl.DataFrame(
        [{name: row.get(name) for name in names} for row in rows], schema=dict.fromkeys(names, pl.String)
    )


def test_codes_are_found_whatever_a_spreadsheet_made_of_them() -> None:
    key = _text(draw_up(REQUEST).key)
    glass = key.filter(panelist="P03").row(1, named=True)
    row = {"session": " AUTUMN  first", "panelist": "p03", "score": "7"}
    rows, problems = resolve_codes(_sheet([{**row, "code": f"{glass['code']}.0"}, {**row, "code": glass["code"]}]), key)
    assert problems == {}
    assert rows.select("spec", "version").rows() == [("Harbour Light", glass["version"])] * 2


def test_a_row_that_names_its_version_keeps_it() -> None:
    key = _text(draw_up(REQUEST).key)
    given = _sheet([{"session": "Other", "panelist": "X", "spec": "S", "version": "9", "code": "123", "score": "5"}])
    rows, problems = resolve_codes(given, key)
    assert problems == {}
    assert rows.equals(given)


def test_a_code_that_is_not_in_the_key_is_told_apart() -> None:
    key = _text(draw_up(replace(REQUEST, versions=tuple(range(1, 8)), samples_at_most=3)).key)
    own = set(key.filter(panelist="P01")["code"])
    strange = next(code for code in key["code"] if code not in own)
    asked = [
        {"session": "Autumn first", "panelist": "P01", "code": "099"},
        {"session": "Autumn first", "panelist": "P01", "code": strange},
        {"session": "Autumn first", "panelist": "Nobody", "code": strange},
        {"session": "Spring", "panelist": "P01", "code": strange},
    ]
    _, problems = resolve_codes(_sheet(asked), key)  # type: ignore[arg-type]
    assert problems == {
        0: "code 099 is not in the key of session 'autumn first'",
        1: f"code {strange} was not served to panelist 'p01', says the key of session 'autumn first'",
        2: "panelist 'nobody' is not in the key of session 'autumn first'",
        3: "session 'spring' is not in the key",
    }


def _answers(key: pl.DataFrame, pick: Callable[[pl.DataFrame], str]) -> pl.DataFrame:
    rounds = key.partition_by("panelist", maintain_order=True)
    return pl.DataFrame(
        {
            "session": ["Autumn first"] * len(rounds),
            "panelist": [glasses["panelist"][0] for glasses in rounds],
            "answer": [pick(glasses) for glasses in rounds],
        }
    )


@pytest.mark.parametrize("method", ["triangle", "duo-trio", "two-out-of-five"])
def test_answers_are_right_or_wrong_by_the_key(method: str) -> None:
    key = _text(draw_up(request_for(method)).key)
    asked = 2 if method == "two-out-of-five" else 1
    right, _ = resolve_answers(_answers(key, lambda g: ", ".join(g.filter(right="yes")["code"])), key)
    wrong, _ = resolve_answers(_answers(key, lambda g: " ".join(g.filter(right="no")["code"][:asked])), key)
    assert right.select("spec", "version_a", "version_b", "correct").unique().rows() == [
        ("Harbour Light", "2", "3", "yes")
    ]
    assert wrong["correct"].unique().to_list() == ["no"]


def test_preferences_name_the_version() -> None:
    key = _text(draw_up(request_for("paired-preference")).key)
    newer, problems = resolve_answers(_answers(key, lambda g: g.filter(version="3")["code"][0]), key)
    assert problems == {}
    assert newer["chosen"].unique().to_list() == ["b"]
    neither, _ = resolve_answers(_answers(key, lambda g: "None"), key)
    assert neither["chosen"].unique().to_list() == ["none"]


def test_answers_that_cannot_be_read_are_said() -> None:
    key = _text(draw_up(request_for("triangle")).key)
    _, unknown = resolve_answers(_answers(key, lambda g: "099"), key)
    assert set(unknown.values()) == {"code 099 is not in the key for this panelist"}
    _, several = resolve_answers(_answers(key, lambda g: " ".join(g["code"][:2])), key)
    assert set(several.values()) == {"2 codes are named where the test asks for 1"}
    stranger = _answers(key, lambda g: g["code"][0]).with_columns(panelist=pl.lit("Nobody"))
    assert "has no such round in the key" in resolve_answers(stranger, key)[1][0]


@pytest.mark.parametrize(("method", "glasses", "right"), [("2-AFC", 2, 1), ("3-AFC", 3, 1), ("tetrad", 4, 2)])
def test_directed_tests_and_tetrads_are_right_by_the_key(method: str, glasses: int, right: int) -> None:
    key = _text(draw_up(request_for(method, attributes=(Attribute(name="body", kind="intensity"),))).key)
    assert key.group_by("panelist").len()["len"].unique().to_list() == [glasses]
    assert key.filter(right="yes").height == right * 12
    if right == 1:
        assert key.filter(right="yes")["version"].unique().to_list() == ["3"]  # the one named last has more
    for kind in ("yes", "no"):
        picked, problems = resolve_answers(
            _answers(key, lambda g, k=kind: " ".join(g.filter(right=k)["code"][:2])), key
        )
        assert problems == {} or (method, kind) == ("3-AFC", "no")
        # Either pair of a tetrad is right: the other two then belong together as well.
        assert picked["correct"].drop_nulls().unique().to_list() in ([], ["yes" if method == "tetrad" else kind])
    if method == "tetrad":
        mixed = _answers(key, lambda g: f"{g.filter(right='yes')['code'][0]} {g.filter(right='no')['code'][0]}")
        assert resolve_answers(mixed, key)[0]["correct"].unique().to_list() == ["no"]


def test_a_not_a_is_right_where_a_is_called_a() -> None:
    key = _text(draw_up(request_for("A-not-A")).key)
    glass = dict(key.filter(part="sample").select("panelist", "version").rows())
    assert sorted(glass.values()) == ["2"] * 6 + ["3"] * 6
    sheet = _answers(key, lambda g: "A")
    read, problems = resolve_answers(sheet, key)
    assert problems == {}
    for row in read.iter_rows(named=True):
        is_a = glass[row["panelist"]] == "2"
        assert (row["given"], row["correct"]) == ("a" if is_a else "b", "yes" if is_a else "no")
        assert (row["version_a"], row["version_b"]) == ("2", "3")
    assert resolve_answers(_answers(key, lambda g: "not A"), key)[0]["correct"].to_list() != read["correct"].to_list()
    assert "is neither 'A' nor 'not A'" in resolve_answers(_answers(key, lambda g: "perhaps"), key)[1][0]


# Slips ---------------------------------------------------------------------------------------------


def _filled_in(key: pl.DataFrame) -> pl.DataFrame:
    rows = key.select("session", "panelist", "position", "replicate", "code")
    return rows.with_columns(spec=pl.lit(None, pl.String), version=pl.lit(None, pl.String), score=pl.lit("5"))


def test_a_code_is_held_against_its_place() -> None:
    key = _text(draw_up(REQUEST).key)
    sheet = _filled_in(key)
    assert resolve_codes(sheet, key)[1] == {}
    codes = sheet["code"].to_list()
    codes[0], codes[1] = codes[1], codes[0]  # two glasses of the first panelist, swapped
    found = resolve_codes(sheet.with_columns(code=pl.Series(codes)), key)[1]
    assert set(found) == {0, 1}
    assert f"code {codes[0]} was glass 2 of panelist 'p01', says the key, not glass 1" in found[0]


def test_a_mistyped_code_is_set_aside_and_the_right_row_lands() -> None:
    key = _text(draw_up(REQUEST).key)
    sheet = _filled_in(key)
    codes = [key["code"][1], *key["code"][1:].to_list()]
    assert set(resolve_codes(sheet.with_columns(code=pl.Series(codes)), key)[1]) == {0}


def test_without_positions_a_code_that_stands_twice_is_set_aside_both_times() -> None:
    key = _text(draw_up(REQUEST).key)
    sheet = _filled_in(key).drop("position", "replicate").with_columns(attribute=pl.lit("liking"))
    codes = [key["code"][1], *key["code"][1:].to_list()]
    assert set(resolve_codes(sheet.with_columns(code=pl.Series(codes)), key)[1]) == {0, 1}


def test_a_version_that_is_not_the_codes_is_said() -> None:
    key = _text(draw_up(REQUEST).key)
    own = key["version"][0]
    sheet = _filled_in(key).with_columns(spec=pl.lit("Harbour Light"), version=key["version"])
    assert resolve_codes(sheet, key)[1] == {}
    wrong = "3" if own != "3" else "2"
    found = resolve_codes(sheet.with_columns(version=pl.Series([wrong, *key["version"][1:]])), key)[1]
    assert found == {0: f"code {key['code'][0]} is version {own}, says the key, not version {wrong}"}


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"score": "", "scale_low": "7"}, "scale_low is 7, not 1: was it typed a column to the right?"),
        ({"score": "", "attribute": "7"}, "attribute is 7: was it typed a column to the left?"),
        ({"score": ""}, None),
        ({"score": "7"}, None),
        ({"score": "", "scale_low": "0", "scale_high": "10"}, None),
        ({"answer": "", "codes": "417"}, "codes holds only 417"),
        ({"answer": "", "codes": "417 188 903"}, None),
    ],
)
def test_a_score_in_the_wrong_column_is_no_blank(cells: dict[str, str], words: str | None) -> None:
    row = {"scale_low": "1", "scale_high": "9", "scale_kind": "liking", "attribute": "liking", **cells}
    found = typed_elsewhere(pl.DataFrame([row]))
    assert found == {} if words is None else words in found[0]


# Advice --------------------------------------------------------------------------------------------


def test_advice_on_a_triangle_is_the_published_number() -> None:
    # ISO 4120 table A.3: 30 % at risks 5 % and 20 %: 40 assessors.
    told = advice(request_for("triangle"), Aim(), None)
    # The exact powers at 40, 41 and 42 answers are 81, 77 and 82 %: from 42 on every number suffices.
    assert "takes 42 answers (exact binomial), and every larger number does; printed tables name 40" in told
    assert "this session gives 12" in told


@pytest.mark.parametrize("method", ["2-AFC", "3-AFC", "tetrad", "A-not-A"])
def test_every_test_that_is_drawn_up_says_how_many_answers_it_takes(method: str) -> None:
    assert re.search(r"takes \d+ answers \(", advice(request_for(method, attributes=(LIKING,)), Aim(), None))


def test_advice_on_scores_rests_on_the_specs_own_past() -> None:
    wide, narrow = (panel(drawn_scores(20, [0, 1], seed=1, sd=sd), kind="liking") for sd in (2.0, 0.5))
    told = [advice(REQUEST, Aim(difference=1.0), past) for past in (wide, narrow)]
    assert all("past scores of Harbour Light" in text for text in told)
    numbers = [int(text.split("about ")[1].split()[0]) for text in told]
    assert numbers[0] > 4 * numbers[1]
    assert re.search(r"about \d+ tasters \(\d+ to \d+\)", told[0])


def test_advice_on_a_further_sitting_says_that_it_takes_more() -> None:
    past = panel(drawn_scores(20, [0, 1], seed=1), kind="liking", versions=REQUEST.versions[:2])
    again = "have met before: a further sitting that was not planned then takes more"
    assert again in advice(REQUEST, Aim(), past)
    assert again not in advice(replace(REQUEST, looks=2), Aim(), past)
    apart = past.with_columns(session=pl.format("{}", "version"))
    assert again not in advice(REQUEST, Aim(), pl.concat([apart, panel(drawn_scores(9, [0, 1], seed=2), spec="Ninth")]))


def test_advice_does_not_rest_on_the_scatter_of_five_people() -> None:
    assert "cannot be told yet" in advice(REQUEST, Aim(), panel(drawn_scores(5, [0, 1], seed=1), kind="liking"))


def test_advice_without_a_past_says_so() -> None:
    assert "cannot be told yet" in advice(REQUEST, Aim(), None)
    elsewhere = panel(drawn_scores(9, [0, 1], seed=1), kind="liking", spec="Ninth")
    assert "past scores of other specs" in advice(REQUEST, Aim(), elsewhere)


@pytest.mark.parametrize(
    ("spec", "versions", "said"),
    [
        ("harbour light", (2, 3), []),
        ("Harbour Light", (3, 8, 9), ["The spec book has no versions 8 and 9 of Harbour Light yet."]),
        ("Harbour", (1,), ["There is no spec 'Harbour' in the spec book yet"]),
    ],
)
def test_what_the_spec_book_lacks_is_said(spec: str, versions: tuple[int, ...], said: list[str]) -> None:
    book = pl.DataFrame({"spec": ["Harbour Light", "Harbour Light"], "version": [2, 3]})
    found = not_in_the_book(spec, versions, book)
    assert len(found) == len(said)
    assert all(one.startswith(start) for one, start in zip(found, said, strict=True))


def test_a_ballot_asks_for_balance_in_its_own_words_and_names_a_round_only_of_several() -> None:
    request = replace(REQUEST, attributes=(LIKING, Attribute(name="Balance", kind="intensity")))
    page = render_ballots(draw_up(request))
    assert "well balanced" in page
    assert "very strong" not in page
    assert "round" not in page.split("</style>")[1]
    assert "round 2" in render_ballots(draw_up(replace(request, replicates=2)))


# The whole way -------------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return make_house(tmp_path, SETTINGS).folder


def _taken_in(home: Path, *paths: Path, source: str | None = None) -> tuple[House, Outcome]:
    """The house once its sheet has been taken in, and what became of that."""
    house = load_house(home, plugins())
    (outcome,) = take_in(house, *paths, source=source)
    return house, outcome


def _plan(home: Path, *arguments: str) -> str:
    result = CliRunner().invoke(app, ["plan", *arguments, "--house", str(home), "--on", "2026-11-18", "--seed", "3"])
    assert result.exception is None, result.output
    return result.output


def _fill(sheet: Path, column: str, value: Callable[[dict[str, str]], str]) -> None:
    with sheet.open() as file:
        rows = list(csv.DictReader(file))
    with sheet.open("w") as file:
        writer = csv.DictWriter(file, rows[0], lineterminator="\n")
        writer.writeheader()
        writer.writerows({**row, column: value(row)} for row in rows)


def test_a_filled_sheet_is_taken_in_with_its_versions(home: Path) -> None:
    said = _plan(home, "Harbour Light", "v2", "3", "--panelists", "4", "--session", "First", "--attributes", "liking")
    assert "seed 3" in said
    assert "Each version stands in each position 2 times." in said
    key = pl.read_csv(home / "panels" / "keys" / "first-key.csv", infer_schema=False)
    version = {row["code"]: row["version"] for row in key.iter_rows(named=True)}
    sheet = home / "panels" / "first-sheet.csv"
    _fill(sheet, "score", lambda row: "" if row["panelist"] == "P04" else "8" if version[row["code"]] == "3" else "4")
    _fill(sheet, "code", lambda row: "999" if row["panelist"] == "P03" and row["position"] == "1" else row["code"])

    house, outcome = _taken_in(home)
    assert (outcome.rows_read, outcome.rows_landed, outcome.rows_set_aside, outcome.rows_passed_over) == (8, 5, 1, 2)
    scores = ask(house, "SELECT spec, version, score FROM panel_scores ORDER BY version, score")
    assert set(scores) == {("Harbour Light", 2, 4.0), ("Harbour Light", 3, 8.0)}
    assert ask(house, "SELECT problem FROM set_aside") == [("code 999 is not in the key of session 'first'",)]


def test_a_filled_workbook_is_taken_in_as_well(home: Path) -> None:
    _plan(
        home, "Harbour Light", "2", "3", "--panelists", "4", "--session", "Book", "--attributes", "liking", "--sheet",
        "xlsx", "--out", str(home / "books"),
    )  # fmt: skip
    path = home / "books" / "book-sheet.xlsx"
    typed = pl.read_excel(path, infer_schema_length=0).with_columns(score=pl.lit("6"))
    typed.write_excel(path)
    house, outcome = _taken_in(home, path, source="tastings")
    assert (outcome.rows_landed, outcome.rows_set_aside) == (8, 0)
    assert ask(house, "SELECT version, count(*) FROM panel_scores GROUP BY ALL ORDER BY ALL") == [(2, 4), (3, 4)]


def test_a_workbook_is_the_same_again_and_holds_no_formula(tmp_path: Path) -> None:
    drawn = draw_up(replace(REQUEST, panelists=("=1+1", "B")))
    first, again = (write_session(drawn, tmp_path / name, "xlsx").sheet for name in ("a", "b"))
    assert first.read_bytes() == again.read_bytes()
    names = pl.read_excel(first)["panelist"].unique().to_list()
    assert sorted(names) == ["=1+1", "B"]
    with pytest.raises(UsageError, match="--sheet must be csv or xlsx, not 'pdf'"):
        write_session(drawn, tmp_path, "pdf")


def test_a_filled_test_sheet_is_taken_in_with_right_and_wrong(home: Path) -> None:
    _plan(
        home, "Harbour Light", "v2", "v3", "--panelists", "6", "--method", "triangle", "--session", "Tri",
        "--out", str(home / "tests"),
    )  # fmt: skip
    key = pl.read_csv(home / "tests" / "keys" / "tri-key.csv", infer_schema=False)
    right = dict(key.filter(pl.col("right") == "yes").select("panelist", "code").rows())
    _fill(home / "tests" / "tri-sheet.csv", "answer", lambda row: right[row["panelist"]])
    house, outcome = _taken_in(home)
    assert (outcome.rows_landed, outcome.rows_set_aside) == (6, 0)
    assert outcome.unused == ()
    trials = ask(house, "SELECT DISTINCT method, spec, version_a, version_b, correct FROM current_trial")
    assert trials == [("triangle", "Harbour Light", 2, 3, "yes")]


def test_a_sheet_without_its_key_says_which_key_it_needs(home: Path) -> None:
    _plan(home, "Harbour Light", "v2", "v3", "--panelists", "2", "--session", "First", "--attributes", "liking")
    (home / "panels" / "keys" / "first-key.csv").unlink()
    _fill(home / "panels" / "first-sheet.csv", "score", lambda row: "5")
    house, outcome = _taken_in(home)
    assert (outcome.rows_landed, outcome.rows_set_aside) == (0, 4)
    problems = ask(house, "SELECT DISTINCT problem FROM set_aside")
    assert problems == [("its code needs the key keys/first-key.csv beside the sheet",)]


def test_a_key_that_lost_its_first_line_refuses_its_sheet_in_one_sentence(home: Path) -> None:
    _plan(home, "Harbour Light", "v2", "v3", "--panelists", "2", "--session", "First", "--attributes", "liking")
    key = home / "panels" / "keys" / "first-key.csv"
    key.write_text(key.read_text(encoding="utf-8").replace("version", "versions", 1), encoding="utf-8")
    _fill(home / "panels" / "first-sheet.csv", "score", lambda row: "5")
    outcome = _taken_in(home)[1]
    assert outcome.status == "refused"
    assert outcome.problem == (
        "panels/first-sheet.csv: its key first-key.csv has no column version; put back the key that 'stillroom panel "
        "plan' wrote, with its first line."
    )


def test_a_score_typed_a_column_to_the_right_is_set_aside_not_passed_over(home: Path) -> None:
    _plan(home, "Harbour Light", "2", "3", "--panelists", "2", "--session", "Shifted", "--attributes", "liking")
    sheet = home / "panels" / "shifted-sheet.csv"
    _fill(sheet, "scale_low", lambda row: "6")
    outcome = _taken_in(home)[1]
    assert (outcome.rows_landed, outcome.rows_set_aside, outcome.rows_passed_over) == (0, 4, 0)


def test_the_looks_that_were_planned_go_into_the_sheet_and_the_store(home: Path) -> None:
    _plan(home, "Harbour Light", "2", "3", "--panelists", "4", "--session", "One", "--attributes", "liking",
          "--looks", "3")  # fmt: skip
    _fill(home / "panels" / "one-sheet.csv", "score", lambda row: "6")
    assert ask(_taken_in(home)[0], "SELECT DISTINCT looks FROM panel_scores") == [(3,)]


def test_names_come_from_a_file(home: Path) -> None:
    names = home / "names.csv"
    names.write_text("panelist\nAnn\n\nBen , tall\n")
    _plan(home, "Harbour Light", "2", "3", "--panelists", str(names), "--session", "Named")
    key = pl.read_csv(home / "panels" / "keys" / "named-key.csv")
    assert sorted(key["panelist"].unique()) == ["Ann", "Ben"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["Harbour Light", "vx", "v2", "--panelists", "4"], "'vx' is no version"),
        (["Harbour Light", "v1", "v2", "--panelists", "nowhere.txt"], "neither a number nor a file"),
        (["Harbour Light", "v1", "v2", "--panelists", "0"], "must be 1 to 900"),
        (["Harbour Light", "v1", "v2", "--panelists", "4", "--alpha", "2"], "--alpha must lie between 0 and 1"),
        (["Harbour Light", "v1", "v2", "--panelists", "4", "--difference", "0"], "--difference must be above 0"),
    ],
)
def test_wrong_arguments_end_in_a_clear_line(home: Path, arguments: list[str], words: str) -> None:
    result = CliRunner().invoke(app, ["plan", *arguments, "--house", str(home)])
    assert isinstance(result.exception, UsageError)
    assert words in str(result.exception)
    assert not (home / "panels").exists()
