"""What CI installs is what was tested: one list of names and versions, and the digests of those very files."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Final

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT: Final = Path(__file__).parents[1]
OF_THE_DOCS: Final = {"deepmerge", "markdown", "pymdown-extensions", "pyyaml", "tomli", "zensical"}
"""Of the extra `docs` alone, which CI does not install: they want a later Python."""


def _pinned(lines: list[str]) -> dict[str, str]:
    """Versions by name, of requirements that each name one version."""
    requirements = [Requirement(line) for line in lines]
    return {canonicalize_name(each.name): str(each.specifier).removeprefix("==") for each in requirements}


def _constraints() -> dict[str, str]:
    return _pinned((ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines())


def _hashed() -> dict[str, list[str]]:
    """The digests by requirement; a requirement begins a line, its digests follow in lines that are indented."""
    found: dict[str, list[str]] = {}
    for line in (ROOT / ".ci/hashes.txt").read_text(encoding="utf-8").splitlines():
        if not line.startswith(" "):
            found[line.rstrip(" \\")] = []
        else:
            found[next(reversed(found))].append(line.strip(" \\"))
    return found


def test_digests_are_of_the_versions_that_were_tested() -> None:
    constraints, hashed = _constraints(), _pinned(list(_hashed()))
    installed = {name: version for name, version in constraints.items() if name not in OF_THE_DOCS}

    assert {name: version for name, version in hashed.items() if name in constraints} == installed


def test_what_is_hashed_beside_the_constraints_is_for_other_systems_alone() -> None:
    others = [line for line in map(Requirement, _hashed()) if canonicalize_name(line.name) not in _constraints()]

    assert [line.name for line in others if not line.marker or line.marker.evaluate()] == []


def test_every_digest_is_a_sha256() -> None:
    digests = [digest for found in _hashed().values() for digest in found]

    assert all(_hashed().values())
    assert [digest for digest in digests if not re.fullmatch("--hash=sha256:[0-9a-f]{64}", digest)] == []


def test_all_that_the_project_asks_for_is_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [*project["dependencies"], *(line for extra in project["optional-dependencies"].values() for line in extra)]

    assert {canonicalize_name(Requirement(line).name) for line in asked} <= _constraints().keys()
