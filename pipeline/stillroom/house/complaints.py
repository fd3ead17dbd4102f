"""What is wrong with settings, as one sentence: the file, the line, the setting, and what would be right."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel, ValidationError

from stillroom.errors import SettingsError
from stillroom.house.toml import toml

LONGEST: Final = 60
"""Characters of a wrong value that are shown."""


@dataclass(frozen=True)
class Written:
    """A settings file as it is written; its place is looked for only when there is something to say of it."""

    path: Path
    text: str
    raw: dict[str, Any]

    def complaint(self, error: ValidationError, model: type[BaseModel]) -> SettingsError:
        """The first fault; a setting that is not known comes before one that is missing, since it may be the same."""
        faults = sorted(error.errors(), key=lambda fault: fault["type"] != "extra_forbidden")
        kind, path = faults[0]["type"], faults[0]["loc"]
        schema = model.model_json_schema()
        if kind == "extra_forbidden":
            known = part_of(schema, path[:-1]).get("properties", {})
            return self.wrong(path, _unknown(str(path[-1]), known), of=path[:-1])
        if kind == "missing":
            return self.wrong(path, f"needs '{path[-1]}'" if path[:-1] else "is missing", of=path[:-1] or path)
        if kind == "value_error":
            value = str(faults[0]["input"])
            return self.wrong(path, str(faults[0]["ctx"]["error"]).replace(value, _short(value)))
        value = _value(self.raw, path, faults[0]["input"])
        return self.wrong(path, f"must be {wanted(part_of(schema, path))}, not {_as_written(value)}")

    def wrong(self, path: Sequence[str | int], problem: str, of: Sequence[str | int] | None = None) -> SettingsError:
        """The sentence.

        Args:
            path: keys and places of what is wrong, from the outermost table.
            problem: what is wrong with it.
            of: what the problem is said of, where that is not `path`.
        """
        line = line_of(self.text, self.raw, path)
        where = f"{self.path}, line {line}" if line else str(self.path)
        end = "" if problem.endswith(("?", ".")) else "."
        return SettingsError(f"{where}: {_named(self.raw, path if of is None else of)} {problem}{end}")


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that is most like this one, if one is.

    >>> nearest("pannel", ["panel", "demand"]), nearest("odd", ["panel", "demand"])
    ('panel', None)
    """
    return next(iter(difflib.get_close_matches(name.casefold(), list(known), n=1)), None)


def _unknown(name: str, known: Iterable[str]) -> str:
    if not known:
        return f"has no setting '{name}'; it has none at all"
    near = nearest(name, known)
    there = f"did you mean '{near}'?" if near else f"there are: {', '.join(known)}"
    return f"has no setting '{_short(name)}'; {there}"


def line_of(text: str, raw: dict[str, Any], path: Sequence[str | int]) -> int | None:
    """The line on which what `path` names begins, counted from 1; of its table where it is not there.

    The first lines of a TOML file are TOML as well, unless they end within a value. So a setting begins on the line
    after the last whole part of the file that has it not.
    """
    while path and not _there(raw, path):
        path = path[:-1]
    if not path:
        return None
    lines, begins = text.splitlines(keepends=True), 1
    for number in range(1, len(lines) + 1):
        try:
            part = tomllib.loads("".join(lines[:number]))
        except tomllib.TOMLDecodeError:
            continue
        if _there(part, path):
            return begins
        begins = number + 1
    return None


def _there(raw: Any, path: Sequence[str | int]) -> bool:
    for step in path:
        if isinstance(step, int):
            if not isinstance(raw, list) or step >= len(raw):
                return False
        elif not isinstance(raw, dict) or step not in raw:
            return False
        raw = raw[step]
    return True


def _value(raw: Any, path: Sequence[str | int], default: object) -> Any:
    """As the file has it, where it has it."""
    if not _there(raw, path):
        return default
    for step in path:
        raw = raw[step]
    return raw


def _as_written(value: object) -> str:
    return _short(" ".join(toml(value).split()))


def _short(text: str) -> str:
    return text if len(text) <= LONGEST else text[:LONGEST] + " ..."


def _named(raw: Any, path: Sequence[str | int]) -> str:
    """What a path is called: its table as its heading is written, and the setting.

    >>> _named({"report": {"panel": {"margin": 1}}}, ("report", "panel", "margin"))
    '[report.panel] margin'
    >>> _named({"source": [{"name": "till"}, {}]}, ("source", 0, "columns", "sold_at"))
    "[[source]] 'till' columns.sold_at"
    >>> _named({"source": [{"name": "till"}, {}]}, ("source", 1)), _named({}, ())
    ('[[source]] number 2', 'the file')
    """
    heading: list[str] = []
    of, rest = "", [*path]
    while rest and isinstance(raw, dict) and isinstance(raw.get(rest[0]), dict | list):
        raw = raw[rest[0]]
        if isinstance(raw, list) and not (rest[1:] and isinstance(rest[1], int) and isinstance(raw[rest[1]], dict)):
            break
        heading.append(str(rest.pop(0)))
        if isinstance(raw, list):
            number = int(rest.pop(0))
            name = raw[number].get("name")
            of = f"'{_short(name)}'" if isinstance(name, str) else f"number {number + 1}"
            break
    table = ".".join(heading)
    words = [f"[[{table}]]", of] if of else [f"[{table}]"] if table else []
    setting = ".".join(_short(step) for step in rest if isinstance(step, str))
    return " ".join([*words, *([setting] if setting else [])]) or "the file"


def part_of(schema: dict[str, Any], path: Sequence[str | int]) -> dict[str, Any]:
    """The part of a JSON Schema that says what may stand at a path, without what stands for 'not set'."""
    here = _resolved(schema, schema)
    for step in path:
        if isinstance(step, int):
            here = here.get("items", here)
        else:
            here = here.get("properties", {}).get(step) or here.get("additionalProperties") or {}
        here = _resolved(here if isinstance(here, dict) else {}, schema)
    return here


def _resolved(part: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    options = [option for option in part.get("anyOf", ()) if option.get("type") != "null"]
    if len(options) == 1:
        part = options[0]
    if "$ref" in part:
        return dict(schema["$defs"][part["$ref"].rsplit("/", 1)[1]])
    return part


def wanted(schema: dict[str, Any]) -> str:
    """What a part of a JSON Schema allows, in words.

    >>> wanted({"type": "number", "minimum": 0, "exclusiveMaximum": 100})
    'a number from 0 to below 100'
    >>> wanted({"type": "array", "items": {"type": "string", "format": "date"}})
    'a list of dates such as [2026-12-24]'
    """
    if "enum" in schema:
        return "one of " + ", ".join(map(_as_written, schema["enum"]))
    if "const" in schema:
        return _as_written(schema["const"])
    if "anyOf" in schema:
        return " or ".join(map(wanted, schema["anyOf"]))
    kind = schema.get("type")
    if kind in ("number", "integer"):
        return " ".join(["a number" if kind == "number" else "a whole number", *_limits(schema)])
    if kind == "array":
        items = schema.get("items", {})
        if "$ref" in items or items.get("type") == "object":
            return "tables, each under its heading in two brackets"
        if items.get("type") == "number":
            return "a list of numbers such as [0.4, 0.8]"
        return "a list of " + {"date": "dates such as [2026-12-24]"}.get(items.get("format", ""), "texts")
    if kind == "string":
        if "examples" in schema:
            return f"a text like {toml(schema['examples'][0])}"
        return "a date like 2026-03-02" if schema.get("format") == "date" else "a text"
    return {"boolean": "true or false", "object": "a table"}.get(str(kind), "something else")


def _limits(schema: dict[str, Any]) -> list[str]:
    least, above = schema.get("minimum"), schema.get("exclusiveMinimum")
    most, below = schema.get("maximum"), schema.get("exclusiveMaximum")
    end = f"{most:,.15g}" if most is not None else f"below {below:,.15g}" if below is not None else ""
    if least is not None:
        return [f"from {least:,.15g} to {end}" if end else f"not below {least:,.15g}"]
    return [word for word in (f"above {above:,.15g}" if above is not None else "", f"and {end}" if end else "") if word]
