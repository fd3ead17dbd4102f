"""Takes a group in on one Spark and asks it once: a program of its own, so that its memory can be measured.

Run as `python -m benchmarks.group_run FOLDER HOUSES`. FOLDER/group.toml says where Spark runs; the first two houses are
taken in beforehand, so that what it takes to begin is not counted. What was measured is printed as JSON.
"""

from __future__ import annotations

import json
import resource
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import psutil

from stillroom.group import intake, reading, session
from stillroom.group.settings import load_group

ASKED = """
    SELECT drink_key, date_trunc('WEEK', day) AS week, count(DISTINCT house) AS houses, sum(serves) AS serves,
        sum(net_takings) / sum(serves) AS price
    FROM daily_serves GROUP BY drink_key, date_trunc('WEEK', day) ORDER BY drink_key, week
"""


def processor_seconds(process: psutil.Process) -> float:
    """Of a process and all that it has begun."""
    ours = [process, *process.children(recursive=True)]
    return sum(sum(one.cpu_times()[:4]) for one in ours)


def timed(work: Callable[[], Any]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def main() -> None:
    group, houses = load_group(Path(sys.argv[1])), int(sys.argv[2])
    program = psutil.Process()
    with session.opened(group):
        intake.take_in(replace(group, at=group.at[:2]))
        before = processor_seconds(program)
        seconds = timed(lambda: intake.take_in(group))
        used = processor_seconds(program) - before
        asking = {
            name: statistics.median(timed(lambda ask=ask: ask(group, ASKED)) for _ in range(3))
            for name, ask in (("spark", reading.rolled), ("duckdb", reading.rolled_by_duckdb))
        }
        jvm = next(one for one in program.children() if "java" in one.name())
        peak = Path(f"/proc/{jvm.pid}/status").read_text().partition("VmHWM:")[2].split()[0]
    landed = houses - 2
    told = {
        "houses": houses,
        "seconds": seconds,
        "seconds_a_house": seconds / landed,
        "processor_a_house": used / landed,
        "driver_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "jvm_mb": int(peak) / 1024,
        "asking": asking,
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main()
