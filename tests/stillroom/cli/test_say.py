"""How commands speak: whole lines to a file or a program, lines parted between words to a terminal."""

import io
import sys

import pytest

from stillroom.cli.common import say

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
