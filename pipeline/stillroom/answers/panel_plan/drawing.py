"""Draws up a session from a seed: the same request and seed give the same session, byte for byte."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from stillroom.errors import UsageError

if TYPE_CHECKING:
    import numpy as np
    import polars as pl

SCORES: Final = "scores"
PREFERENCE: Final = "paired-preference"
A_NOT_A: Final = "A-not-A"
DIRECTED: Final = ("2-AFC", "3-AFC")
"""Tests that ask which has more of one attribute: the version named last is the one that should."""
METHODS: Final = (
    SCORES, "triangle", "duo-trio", PREFERENCE, "two-out-of-five", *DIRECTED, "tetrad", A_NOT_A,
)  # fmt: skip
CODES: Final = range(100, 1000)
"""Three digits, so that none looks like a place in a row."""
SCALES: Final = {"intensity": (1, 9), "liking": (1, 9), "just-about-right": (1, 5)}
KEY_COLUMNS: Final = (
    "session", "panelist", "method", "replicate", "position", "code", "spec", "version", "part", "right",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Attribute:
    """What is scored, and on which scale."""

    name: str
    kind: str

    @property
    def scale(self) -> tuple[int, int]:
        """Ends of its scale."""
        return SCALES[self.kind]


@dataclass(frozen=True, kw_only=True)
class Request:
    """What is to be tasted, by whom, and how."""

    session: str
    tasted_on: date
    spec: str
    versions: tuple[int, ...]
    panelists: tuple[str, ...]
    method: str = SCORES
    replicates: int = 1
    attributes: tuple[Attribute, ...] = ()
    samples_at_most: int = 6
    """Samples that one person should taste in a round of scoring."""
    looks: int | None = None
    """Sittings planned for this comparison before the first; None = it is not said."""
    seed: int = 0


@dataclass(frozen=True, kw_only=True)
class Session:
    """A session as drawn up."""

    request: Request
    key: pl.DataFrame
    """A row for each glass, in serving order: columns `KEY_COLUMNS`. `part`: sample or reference. `right`: yes for the
    codes that are the right answer of a difference test."""
    evenness: dict[str, tuple[int, int]]
    """Least and most often, over all rounds: see `serving_design.balance`. Empty for difference tests."""


def checked(request: Request) -> Request:
    """The request, or the first thing that is wrong with it.

    Raises:
        UsageError: too few versions or panelists, one of them twice, or a number that makes no sense.
    """
    if request.method not in METHODS:
        raise UsageError(f"There is no method '{request.method}'; there are: {', '.join(METHODS)}.")
    _no_twins("version", [str(version) for version in request.versions])
    _no_twins("panelist", list(request.panelists))
    if request.method != SCORES and len(request.versions) != 2:
        raise UsageError(f"A {request.method} test compares two versions, not {len(request.versions)}.")
    if len(request.versions) < 2:
        raise UsageError("One version alone cannot be compared: name at least two.")
    if not request.panelists:
        raise UsageError("There are no panelists.")
    if request.replicates < 1:
        raise UsageError(f"--replicates must be 1 or more, not {request.replicates}.")
    if request.samples_at_most < 2:
        raise UsageError(f"[report.panel] samples_at_most must be 2 or more, not {request.samples_at_most}.")
    if request.looks is not None and request.looks < 1:
        raise UsageError(f"--looks must be 1 or more, not {request.looks}.")
    if request.method in DIRECTED and len(request.attributes) != 1:
        raise UsageError(f"A {request.method} test asks which has more of one thing: name it, --attributes sweetness.")
    if request.method == SCORES:
        if not request.attributes:
            raise UsageError("There is nothing to score: name at least one attribute.")
        _no_twins("attribute", [attribute.name for attribute in request.attributes])
        unknown = [attribute.kind for attribute in request.attributes if attribute.kind not in SCALES]
        if unknown:
            raise UsageError(f"There is no scale '{unknown[0]}'; there are: {', '.join(SCALES)}.")
    return request


def _no_twins(what: str, names: list[str]) -> None:
    seen = set()
    for name in names:
        if name.casefold() in seen:
            raise UsageError(f"The {what} '{name}' is named twice.")
        seen.add(name.casefold())


def draw_up(request: Request) -> Session:
    """Orders, codes and key of a session.

    Raises:
        UsageError: the request makes no sense, or needs more codes than there are.
    """
    import numpy as np
    import polars as pl

    checked(request)
    generator = np.random.default_rng(request.seed)
    if request.method == SCORES:
        rows, evenness = _scored(request, generator)
    else:
        rows, evenness = _tested(request, generator), {}
    return Session(request=request, key=pl.DataFrame(rows, schema=_key_schema(), orient="row"), evenness=evenness)


def _key_schema() -> dict[str, type[pl.DataType]]:
    import polars as pl

    numbers = ("replicate", "position", "version")
    return {name: pl.Int64 if name in numbers else pl.String for name in KEY_COLUMNS}


def _codes(count: int, generator: np.random.Generator) -> list[str]:
    if count > len(CODES):
        raise UsageError(
            f"The session needs {count} codes, but there are only {len(CODES)} of three digits: split it in two."
        )
    return [str(code) for code in generator.choice(len(CODES), size=count, replace=False) + CODES.start]


def _scored(
    request: Request, generator: np.random.Generator
) -> tuple[list[tuple[object, ...]], dict[str, tuple[int, int]]]:
    """Every round of scoring has orders of its own and new codes.

    A glass has a code of its own, so that nobody can compare notes; where there are too few, a version in a round has.
    """
    from stillroom.analysis.panel.serving_design import balance, serving_orders

    count, people = len(request.versions), len(request.panelists)
    glasses = min(count, request.samples_at_most) * people * request.replicates
    own = glasses <= len(CODES)
    codes = _codes(glasses if own else count * request.replicates, generator)
    of_glass = iter(codes)
    rows: list[tuple[object, ...]] = []
    orders: list[Sequence[int]] = []
    for replicate in range(1, request.replicates + 1):
        of_round = serving_orders(count, len(request.panelists), request.samples_at_most, generator)
        orders += of_round
        for panelist, order in zip(request.panelists, of_round, strict=True):
            shared = codes[(replicate - 1) * count :]
            for position, sample in enumerate(order, 1):
                code = next(of_glass) if own else shared[sample]
                glass = (replicate, position, code, request.spec, request.versions[sample], "sample", None)
                rows.append((request.session, panelist, SCORES, *glass))
    return rows, balance(orders, count)


def _tested(request: Request, generator: np.random.Generator) -> list[tuple[object, ...]]:
    """Every glass of a difference test has a code of its own."""
    from stillroom.analysis.panel.serving_design import orders_of_test

    rounds = [
        (replicate, panelist, order)
        for replicate in range(1, request.replicates + 1)
        for panelist, order in zip(
            request.panelists, orders_of_test(request.method, len(request.panelists), generator), strict=True
        )
    ]
    codes = iter(_codes(sum(len(order.replace(":", "")) for *_, order in rounds), generator))
    versions = dict(zip("AB", request.versions, strict=True))
    rows: list[tuple[object, ...]] = []
    for replicate, panelist, order in rounds:
        reference, _, served = order.rpartition(":")
        right = _right_letter(request.method, reference, served)
        for position, letter in enumerate(reference + served, 1):
            is_reference = bool(reference) and position == 1
            answer = None if right is None or is_reference else "yes" if letter == right else "no"
            part = "reference" if is_reference else "sample"
            glass = (replicate, position, next(codes), request.spec, versions[letter], part, answer)
            rows.append((request.session, panelist, request.method, *glass))
    return rows


def _right_letter(method: str, reference: str, served: str) -> str | None:
    """Letter the right answer names: the odd one, a pair, the one like the reference; none where codes name nothing."""
    if method in (PREFERENCE, A_NOT_A):
        return None
    if method in DIRECTED:
        return "B"
    return reference or ("A" if method == "tetrad" else min("AB", key=served.count))
