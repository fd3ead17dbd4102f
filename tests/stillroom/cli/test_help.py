"""`stillroom --help`: what each command is for, whole, at 80 columns."""

import pytest

from house_builder import command


def test_no_command_s_line_is_cut_short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    listed = command("--help").out.split("Commands:")[1].strip().splitlines()
    assert len(listed) >= 13
    assert [line for line in listed if line.endswith("...")] == []
