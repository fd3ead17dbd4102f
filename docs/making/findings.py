"""What the reports can say: every place that makes a finding, with examples.

`python -m docs.making.findings` runs the reports' tests and writes the page; a test holds its places to the code.
"""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final

from docs.making.markdown import table

ROOT: Final = Path(__file__).parents[2]
PAGE: Final = ROOT / "docs" / "reference" / "findings.md"
TESTS: Final = (
    "tests/stillroom_plugins",
    "tests/test_one_figure.py",
    "tests/stillroom/answers",
)
MOST: Final = 10
"""Examples of one place: its ways of putting it, not each figure."""
HEAD: Final = """# Findings

Every kind of sentence that the reports put first, by report and by the function that makes it, with examples as the
tests hear them (`make docs` writes this page). A finding says one thing aloud, then what to do; what it rests on
follows it on the page.
"""
Heard = tuple[str, str, str, str, str, str]
"""File, function, subject, sentence, what to do, how sure."""


def places() -> Iterator[tuple[str, str]]:
    """Every place that makes a finding: the file and the function, in the order of the code."""
    for path in sorted((ROOT / "plugins" / "stillroom_plugins" / "reports").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and _makes_one(node):
                yield path.relative_to(ROOT).as_posix(), node.name


def _makes_one(node: ast.FunctionDef) -> bool:
    return any(
        isinstance(part, ast.Call) and isinstance(part.func, ast.Name) and part.func.id == "Finding"
        for part in ast.walk(node)
    )


def page(heard: Iterable[Heard]) -> str:
    """The page: a section a report, a table a place."""
    of_place: dict[tuple[str, str], list[Heard]] = {}
    for said in sorted(set(heard)):
        of_place.setdefault((_within(said[0]), said[1]), []).append(said)
    parts, report = [HEAD], ""
    for path, function in places():
        if path.split("/")[3] != report:
            report = path.split("/")[3]
            parts.append(f"## {report}\n")
        told = [(f"`{function}`", said[3], said[4], said[5]) for said in _ways(of_place.get((path, function), []))]
        parts.append(table(("made by", "it says", "to do", "how sure"), told or [(f"`{function}`", "", "", "")]) + "\n")
    return "\n".join(parts)


def _within(file: str) -> str:
    return Path(file).relative_to(ROOT).as_posix() if Path(file).is_relative_to(ROOT) else file


def _ways(heard: Iterable[Heard]) -> list[Heard]:
    """One example of each way of putting it, names and figures aside; of many, short ones and long ones."""
    ways: dict[str, Heard] = {}
    for said in sorted(heard, key=lambda one: (len(one[3]), one)):
        ways.setdefault(_shape(said), said)
    told = list(ways.values())
    return told if len(told) <= MOST else [told[place * (len(told) - 1) // (MOST - 1)] for place in range(MOST)]


def _shape(said: Heard) -> str:
    sentence = said[3].replace(said[2], "") if said[2] else said[3]
    return " ".join(re.findall(r"\b[a-z’']{2,}\b", sentence))[:60]


def main() -> None:
    """Hear the tests and write the page."""
    with tempfile.TemporaryDirectory() as folder:
        heard = Path(folder, "heard")
        hearing = [sys.executable, "-m", "pytest", "-q", "-p", "docs.making.heard", f"--heard={heard}", *TESTS]
        subprocess.run(hearing, cwd=ROOT, check=True)
        lines = heard.read_text(encoding="utf-8").splitlines()
    PAGE.write_text(page([tuple(json.loads(line)) for line in lines]), encoding="utf-8")


if __name__ == "__main__":
    main()
