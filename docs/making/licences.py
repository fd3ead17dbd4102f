"""The licences of every package that Stillroom needs to run, as the package itself says."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, distribution
from pathlib import Path
from typing import Final

from docs.making.markdown import table
from packaging.requirements import Requirement

ROOT: Final = Path(__file__).parents[2]
_CLASSIFIER: Final = re.compile(r"^License :: (?:OSI Approved :: )?(.+)$")
_LONGEST: Final = 80  # some packages put the whole text where the name belongs


def licences() -> str:
    """Package, pinned version, licence."""
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").split()
    pinned = {_plain(name): version for name, _, version in (line.partition("==") for line in lines)}
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = dict.fromkeys(_plain(name) for name in _needed(project["dependencies"], "", set()))
    rows = [(name, pinned.get(name, "not pinned"), _licence(distribution(name))) for name in sorted(needed)]
    return table(("package", "version", "licence"), rows)


def _needed(lines: Iterable[str], extra: str, seen: set[str]) -> Iterator[str]:
    """The packages that requirements name, and all that those need in their turn on this system."""
    for requirement in map(Requirement, lines):
        if requirement.marker and not requirement.marker.evaluate({"extra": extra}):
            continue
        for wanted in ("", *requirement.extras):
            if f"{_plain(requirement.name)}[{wanted}]" not in seen:
                seen.add(f"{_plain(requirement.name)}[{wanted}]")
                yield requirement.name
                yield from _needed(distribution(requirement.name).requires or (), wanted, seen)


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).casefold()


def _licence(found: Distribution) -> str:
    """What a package says of its licence: an SPDX expression (PEP 639), else a short name, else its classifiers."""
    about = found.metadata
    said = about.get("License-Expression") or ""
    if not said and len(about.get("License") or "") <= _LONGEST:
        said = about.get("License") or ""
    if not said:
        names = [m[1] for line in about.get_all("Classifier") or [] if (m := _CLASSIFIER.match(line))]
        said = ", ".join(names)
    return said or "see the package"
