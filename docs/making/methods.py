"""The methods: every public function of the analyses that names its source, and the test that checks it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from docs.making.markdown import table

import stillroom.analysis

ROOT: Final = Path(__file__).parents[2]
FOLDER: Final = Path(stillroom.analysis.__file__).parent
_SOURCE: Final = re.compile(r"\b(1[89]\d\d|20[0-2]\d)\b|\b(ISO|ASTM|OIML|ICUMSA|OIV|CRC|NIST)\b")
"""What a named source has: a year, or a body that publishes standards and tables."""


def methods() -> str:
    """Subject by subject: the function, what it says of its method, and its test."""
    parts = []
    for folder in sorted(path for path in FOLDER.iterdir() if path.is_dir() and not path.name.startswith("_")):
        rows = [row for path in sorted(folder.glob("*.py")) for row in _of(path)]
        if rows:
            parts.append(f"## {folder.name}\n\n" + table(("function", "method and source", "test"), rows))
    shared = [row for path in sorted(FOLDER.glob("*.py")) for row in _of(path)]
    return "\n\n".join([*parts, "## For all\n\n" + table(("function", "method and source", "test"), shared)])


def _of(path: Path) -> Iterator[tuple[str, str, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    about = ast.get_docstring(tree) or ""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            said = _said(ast.get_docstring(node) or "")
            if _SOURCE.search(said):
                yield f"`{node.name}`", said, _test(path)
    if _SOURCE.search(about):
        yield f"`{path.stem}` (all of it)", _said(about), _test(path)


def _said(docstring: str) -> str:
    """What a docstring says before its lists of arguments, returns and errors, and before its example."""
    return re.split(r"\n\s*(?:Args|Returns|Raises):\n|\n\s*>>> ", docstring)[0].strip()


def _test(path: Path) -> str:
    test = ROOT / "tests" / "stillroom" / "analysis" / path.relative_to(FOLDER).with_name(f"test_{path.name}")
    if test.is_file():
        return f"`{test.relative_to(ROOT).as_posix()}`"
    return "with those that use it"
