"""What plugins hand over and are handed, from the objects themselves."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from docs.making.markdown import table

from stillroom.objects import cautions, findings, reports, sources
from stillroom_schemas import table as tables


def all_objects() -> str:
    """Every object with its fields."""
    modules = (sources, cautions, findings, reports, tables)
    return "\n\n".join(_of(node) for module in modules for node in _classes(Path(str(module.__file__))))


def _classes(path: Path) -> list[ast.ClassDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in tree.body if isinstance(node, ast.ClassDef)]


def _of(node: ast.ClassDef) -> str:
    return f"## {node.name}\n\n{ast.get_docstring(node)}\n\n" + table(("field", "type", "meaning"), _fields(node))


def _fields(node: ast.ClassDef) -> Iterator[tuple[str, str, str]]:
    """Each field with the text that stands below it."""
    below = [*node.body[1:], None]
    for one, after in zip(node.body, below, strict=True):
        if isinstance(one, ast.AnnAssign) and isinstance(one.target, ast.Name):
            said = after.value.value if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant) else ""
            default = ast.unparse(one.value) if one.value else "field("
            unset = "" if default.startswith("field(") else f" (`{default}` unless given)"
            yield f"`{one.target.id}`", f"`{ast.unparse(one.annotation)}`", f"{said}{unset}"
