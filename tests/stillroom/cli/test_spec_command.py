"""`stillroom spec`: on a small house, as text and as JSON, and what it says when asked for what is not there."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from spec_frames import kitchen, stored
from stillroom.cli import app as command_line
from stillroom.errors import UsageError

Ask = Callable[..., Result]


@pytest.fixture(scope="module")
def ask(tmp_path_factory: pytest.TempPathFactory) -> Ask:
    folder = tmp_path_factory.mktemp("house")
    settings = '[house]\nname = "Test"\ncurrency = "EUR"\nstandard_drink = "UK"\n'
    (folder / "stillroom.toml").write_text(settings, encoding="utf-8")
    book = kitchen()
    book.ingredient("water", "1 l", 0.0, abv_pct=0.0, density_g_ml=0.998)
    book.spec("syrup", "813 ml", "500 g sugar", "500 g water", keeps_days=14.0, storage="fridge")
    lines = ("60 ml gin", "20 ml syrup", "15 ml egg white")
    book.spec("Sour", "1 serve", *lines, method="shaken", price=12.0, in_service_from=date(2026, 1, 1))
    book.spec("Sour", "1 serve", *lines[:2], version=2)
    book.spec("Orange Wheel", "12 each", "3 each orange")
    book.spec("Bitter Sour", "1 serve", "60 ml gin", "2 dash bitters", "1 barspoon gin")
    book.spec("Tea", "1 l", "1 l water")
    book.spec("Tea Cordial", "1 l", "500 ml tea", "500 g sugar")
    book.spec("Fog Cup", "1 serve", "40 ml gin", "20 ml Tea Cordial")
    stored(folder, book, ())
    app, runner = command_line(), CliRunner()

    def run(*words: str) -> Result:
        return runner.invoke(app, ["spec", *words, "--house", str(folder)])

    return run


def test_a_drink_scaled(ask: Ask) -> None:
    said = ask("sour", "--serves", "4").stdout
    assert "Sour, version 1" in said
    assert "Raw egg" in said.split("To make 4 serves")[0]
    assert "240 ml" in said
    assert "2.4 UK units" in said  # 24 ml of alcohol a serve
    assert "Cost EUR 1.3" in said


def test_a_preparation_made_to_an_amount(ask: Ask) -> None:
    said = ask("syrup", "--make", "2 l").stdout
    assert "To make 2000 ml" in said
    assert "50.0 °Brix" in said
    assert "they agree" in said
    assert "A making gives 41 serves of Sour." in said


def test_an_amount_of_a_shaken_drink_is_before_chilling_and_says_what_water_a_bottle_takes(ask: Ask) -> None:
    found = json.loads(ask("sour", "--make", "950 ml", "--json").stdout)
    assert found["before_chilling_ml"] == pytest.approx(950)
    assert found["chilling_adds_ml"] == pytest.approx(0.4 * 950)  # shaken: 40 % on top of the volume before
    said = " ".join(ask("sour", "--make", "950 ml").stdout.split())
    assert " serves (950 ml before chilling, 1330 ml as served):" in said
    assert "without ice: add 380 ml water, as much as chilling adds; 1330 ml in all." in said
    assert "before chilling," not in ask("sour").stdout.split("In a serve")[0]


def test_a_preparation_says_where_it_goes_at_any_depth(ask: Ask) -> None:
    said = " ".join(ask("tea", "--make", "1 l").stdout.split())
    assert "Goes into Tea Cordial; by Tea Cordial into Fog Cup." in said
    found = json.loads(ask("tea", "--json").stdout)
    assert found["used_in"] == [{"spec": "Tea Cordial", "through": None}, {"spec": "Fog Cup", "through": "Tea Cordial"}]


def test_as_json(ask: Ask) -> None:
    found = json.loads(ask("sour", "--version", "2", "--json").stdout)
    assert found["spec"]["version"] == 2
    assert found["cost"]["whole"] == pytest.approx(1.2 + 500 * 0.0015 * 20 / 813)
    assert [line["item"] for line in found["lines"]] == ["gin", "syrup"]


def test_what_has_neither_mass_nor_volume_has_no_list_of_noughts(ask: Ask) -> None:
    said = ask("orange wheel").stdout
    assert "figures       not known: see what was not counted" in said
    assert "0 g" not in said


def test_measures_that_are_counted_have_their_plural(ask: Ask) -> None:
    said = ask("bitter sour").stdout
    assert "2 dashes" in said
    assert "1 barspoon " in said


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("saur",), "There is no spec 'saur'"),
        (("sour", "--version", "7"), "has no version 7"),
        (("syrup", "--serves", "3"), "is a preparation, not a drink"),
        (("syrup", "--make", "much"), "is not an amount"),
        (("sour", "--serves", "3", "--make", "1 l"), "not both"),
    ],
)
def test_what_is_not_there(ask: Ask, words: tuple[str, ...], message: str) -> None:
    error = ask(*words).exception
    assert isinstance(error, UsageError)
    assert message in str(error)


def test_a_house_without_specs(tmp_path: Path) -> None:
    (tmp_path / "stillroom.toml").write_text('[house]\nname = "Test"\ncurrency = "EUR"\n', encoding="utf-8")
    stored(tmp_path, kitchen(), ())
    error = CliRunner().invoke(command_line(), ["spec", "sour", "--house", str(tmp_path)]).exception
    assert isinstance(error, UsageError)
    assert "There is no spec 'sour'" in str(error)
