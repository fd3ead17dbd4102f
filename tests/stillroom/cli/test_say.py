"""How commands speak: whole lines to a file or a program, lines parted between words to a terminal."""

import io
import sys

import pytest

from house_builder import command
from stillroom import __version__
from stillroom.cli.common import number_option, say
from stillroom.errors import UsageError

LONG = "till/odd.csv: not a file of table 'sale': headings missing: till_item; found: sold_at, article, quantity, net."


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize("name", ["stdout", "stderr"])
def test_a_terminal_gets_lines_of_80_columns(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    screen = Terminal()
    monkeypatch.setattr(sys, name, screen)
    say(f"{LONG}\nA second line.", err=name == "stderr")
    first, second, third = screen.getvalue().splitlines()
    assert len(first) <= 80
    assert f"{first} {second.removeprefix('    ')}" == LONG
    assert third == "A second line."


def test_a_file_gets_the_line_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    out = io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    say(LONG)
    assert out.getvalue() == f"{LONG}\n"


@pytest.mark.parametrize(("text", "number"), [("12", 12.0), ("12.5", 12.5), ("12,5", 12.5)])
def test_a_number_may_be_written_with_a_comma(text: str, number: float) -> None:
    assert number_option(text, "--serves") == number


@pytest.mark.parametrize("text", ["1,250", "-3", "a dozen", "1e3", ""])
def test_a_number_that_could_be_another_is_asked_back(text: str) -> None:
    with pytest.raises(UsageError, match="--serves must be a number like 12"):
        number_option(text, "--serves")


def test_the_version_is_told() -> None:
    assert command("--version").out == f"stillroom {__version__}\n"
