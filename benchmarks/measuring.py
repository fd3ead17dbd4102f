"""Whole processes, measured; and the page that keeps what was measured."""

from __future__ import annotations

import os
import platform
import statistics
import subprocess
import time
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

PAGE = Path(__file__).parent.parent / "docs" / "benchmarks.md"


@dataclass(frozen=True)
class Run:
    """One whole process."""

    seconds: float
    processor_seconds: float
    peak_mb: float


def measured(command: Sequence[str], folder: Path) -> Run:
    """Run a command to its end: wall and processor seconds, and the largest resident memory of the process."""
    began = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert process.stderr is not None
    said = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):  # 1: rows were set aside, as they must be
        raise SystemExit(f"{command}: exit {process.returncode}: {said.decode()}")
    return Run(time.perf_counter() - began, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def ratio(ours: list[Run], theirs: list[Run]) -> float:
    """The median of the ratios of neighbouring runs, since a machine's speed drifts."""
    return statistics.median(a.seconds / b.seconds for a, b in zip(ours, theirs, strict=True))


def line(label: str, rows: int, runs: list[Run], ours_to_theirs: float | None = None) -> str:
    """A row of a table: medians of the wall and processor seconds, the largest peak."""
    seconds = statistics.median(run.seconds for run in runs)
    processor = statistics.median(run.processor_seconds for run in runs)
    peak = max(run.peak_mb for run in runs)
    shown = "" if ours_to_theirs is None else f"{ours_to_theirs:.2f}"
    return f"| {label} | {rows:,} | {seconds:.1f} | {processor:.1f} | {peak:,.0f} | {shown} |"


def keep(section: str, lines: list[str]) -> None:
    """Print what was measured, and put it in its place on the page, with the machine it was measured on."""
    begin, end = f"<!-- {section}: begin -->", f"<!-- {section}: end -->"
    text = "\n".join([begin, "", _machine(), "", *lines, "", end])
    print(text)
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(begin)
    PAGE.write_text(before + text + rest.partition(end)[2], encoding="utf-8")


def _machine() -> str:
    names = ("polars", "duckdb", "pandera", "pandas")
    versions = ", ".join(f"{name} {version(name)}" for name in names)
    return f"{os.cpu_count()} cores ({platform.machine()}), Python {platform.python_version()}, {versions}."
