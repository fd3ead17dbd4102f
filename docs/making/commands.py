"""The commands, as `--help` tells them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer
from docs.making.markdown import table

from stillroom.cli import app


def commands() -> str:
    """Every command with its arguments and options."""
    return "\n\n".join(_of(name, command) for name, command in _all(typer.main.get_command(app()), ""))


def _all(command: Any, before: str) -> Iterator[tuple[str, Any]]:
    for name, inner in sorted(getattr(command, "commands", {}).items()):
        full = f"{before}{name}"
        if hasattr(inner, "commands"):
            yield from _all(inner, f"{full} ")
        else:
            yield full, inner


def _of(name: str, command: Any) -> str:
    rows = [
        (f"`{_written(one)}`", " ".join((getattr(one, "help", "") or "").split()))
        for one in command.params
        if not getattr(one, "hidden", False)
    ]
    about = "\n\n".join(" ".join(part.split()) for part in (command.help or "").split("\n\n"))
    return f"## stillroom {name}\n\n{about}\n\n" + table(("", ""), rows)


def _written(parameter: Any) -> str:
    if parameter.param_type_name == "argument":
        return parameter.name.upper()
    return ", ".join(parameter.opts)
