"""The command that reports on a group: what it writes where, and what it refuses."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from house_builder import Said, command
from stillroom.group import reporting
from stillroom_reports.document import Document


@pytest.fixture
def ask(tmp_path: Path, piers: Document, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Said]:
    """The command in a group's folder; what Spark would answer is there already."""
    (tmp_path / "group.toml").write_text('[group]\nname = "The Piers"\n[houses]\nat = "houses/*"\n', encoding="utf-8")

    def of_group(*asked: Any) -> Document:
        return piers

    monkeypatch.setattr(reporting, "of_group", of_group)
    return lambda *words: command("group", "report", *words, "--group", tmp_path)


def test_tables_and_findings_are_had_as_csv_and_json(ask: Callable[..., Said], tmp_path: Path) -> None:
    assert ask("--format", "csv").code == 0
    written = {path.name for path in (tmp_path / "report-csv").iterdir()}
    assert {"findings.csv", "league-houses.csv", "rollout-rollouts.csv", "houses-houses.csv"} <= written
    said = ask("--format", "json")
    assert said.code == 0
    assert json.loads(said.out)["reports"][0]["name"] == "houses"


def test_the_hand_out_is_one_house_s(ask: Callable[..., Said]) -> None:
    said = ask("--format", "pdf")
    assert said.code == 2
    assert said.err.strip() == "--format pdf writes the hand-out of one house: 'stillroom report --format pdf' there."


def test_a_day_that_is_none_is_told(ask: Callable[..., Said]) -> None:
    said = ask("--from", "yesterday")
    assert (said.code, said.err.strip()) == (2, "--from must be a day like 2026-03-01, not 'yesterday'.")


def test_outside_a_group_it_says_so(tmp_path: Path) -> None:
    said = command("group", "report", "--group", tmp_path)
    assert said.code == 2
    assert "is not inside a group" in said.err
    assert said.err.count("\n") == 1
