"""Every house of a group taken in, a task each; the facts of each count whole, or those of the run before do."""

from __future__ import annotations

import fcntl
import json
import os
import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any, Final

from stillroom.errors import StillroomError
from stillroom.group import facts, places, session, tables
from stillroom.group.house_task import Done, Job, do
from stillroom.group.settings import Group

if TYPE_CHECKING:
    import polars as pl
    import pyarrow as pa
    from pyspark.sql import SparkSession

AT_ONCE: Final = 256
"""Houses between two commits, unless the cluster can do more at a time."""
TASKS_EACH: Final = 8
"""And then so many for each of its processors."""
LOCK: Final = "intake.lock"
ANSWER: Final = "house string, said string"
COUNTS: Final = ("first_day", "last_day", "rows_read", "landed", "aside", "passed_over")


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What became of a group."""

    run_id: str
    done: tuple[Done, ...]
    """Of every house, in the order of names."""
    gone: tuple[str, ...]
    """Houses that are not in the group any more: their facts count no longer."""


def take_in(group: Group, tell: Callable[[Done], None] = lambda done: None) -> Taken:
    """Take in every house whose files have changed since its facts were written.

    Raises:
        UsageError: something is to be installed first.
        SettingsError: there is no house.
        StillroomError: another intake of this group is at work, or Spark fails as a whole. What was committed stays.
    """
    session.check()
    addresses = places.houses(group)
    with _alone(group), session.opened(group) as spark:
        tables.make(group.facts)
        run = _Run(group, spark, f"{datetime.now(UTC):%Y%m%dT%H%M%S}-{secrets.token_hex(4)}")
        gone = run.let_go(addresses)
        done = []
        jobs = run.jobs(addresses)
        step = max(AT_ONCE, TASKS_EACH * spark.sparkContext.defaultParallelism)
        for begin in range(0, len(jobs), step):
            for one in run.done(jobs[begin : begin + step]):
                tell(one)
                done.append(one)
        run.tidy_up()
    return Taken(run_id=run.run_id, done=tuple(done), gone=gone)


class _Run:
    """One intake of a group."""

    def __init__(self, group: Group, spark: SparkSession, run_id: str) -> None:
        self.group, self.spark, self.run_id = group, spark, run_id
        self._replaced: dict[str, str] = {}
        """House -> the run that counted before."""

    def jobs(self, addresses: dict[str, str]) -> list[Job]:
        """What is to be done for each house."""
        rows = tables.standing(self.group.facts).rows
        digests = {row["house"]: row["files_digest"] for row in rows.filter(state="landed").iter_rows(named=True)}
        return [
            Job(
                house=house,
                house_at=address,
                kept=str(self.group.kept / "houses" / tables.slug(house)),
                facts=self.group.facts,
                run_id=self.run_id,
                digest=digests.get(house),
                book=self.group.book,
                own_versions=self.group.has_own_versions(house),
            )
            for house, address in addresses.items()
        ]

    def done(self, jobs: Sequence[Job]) -> list[Done]:
        """Do the houses, and commit what they came to."""
        done = sorted(self._answers(jobs), key=lambda one: one.house)
        landed = {one.house: one.written for one in done if one.state == "landed"}
        tables.commit(self.group.facts, self.run_id, landed)
        self._commit([one for one in done if one.state != "unchanged"], jobs)
        return done

    def _answers(self, jobs: Sequence[Job]) -> list[Done]:
        """What tasks say of their houses. One that Spark gives up takes no other with it: they are tried by halves."""
        from py4j.protocol import Py4JError
        from pyspark.errors import PySparkException

        try:
            return _asked(self.spark, jobs)
        except (Py4JError, PySparkException, OSError):
            if self.spark.sparkContext._jsc is None or self.spark.sparkContext._jsc.sc().isStopped():
                log = self.group.kept / session.LOG
                raise StillroomError(f"Spark has stopped: see {log}. What was committed stays; run it again.") from None
            if len(jobs) == 1:
                reason = f"its task was ended {session.TRIES} times from outside, as when memory runs out."
                return [Done(house=jobs[0].house, state="failed", reason_code="killed", reason=reason)]
            half = len(jobs) // 2
            return [*self._answers(jobs[:half]), *self._answers(jobs[half:])]

    def _commit(self, done: Sequence[Done], jobs: Sequence[Job]) -> None:
        """Let what was done count; of houses that another intake has done meanwhile, that one's facts do."""
        began = {job.house: job.digest for job in jobs}
        while done:
            standing = tables.standing(self.group.facts)
            before = {row["house"]: row for row in standing.rows.iter_rows(named=True)}
            ours = [one for one in done if _digest(before.get(one.house)) == began[one.house]]
            changed = [_row(one, before.get(one.house), self.run_id) for one in ours]
            try:
                if changed:
                    standing.commit(_frame(changed))
            except tables.LostRace:
                continue
            for one in ours:
                was = before.get(one.house)
                if one.state == "landed" and was is not None and was["run_id"] is not None:
                    self._replaced[one.house] = was["run_id"]
            return

    def let_go(self, addresses: dict[str, str]) -> tuple[str, ...]:
        """Take houses out of `houses` that are not in the group any more."""
        while True:
            standing = tables.standing(self.group.facts)
            gone = [row for row in standing.rows.iter_rows(named=True) if row["house"] not in addresses]
            try:
                if gone:
                    standing.take_out([row["house"] for row in gone])
            except tables.LostRace:
                continue
            self._replaced |= {row["house"]: row["run_id"] for row in gone if row["run_id"] is not None}
            return tuple(row["house"] for row in gone)

    def tidy_up(self) -> None:
        """Take what counts no longer out of the tables."""
        if self._replaced:
            tables.take_out(self.group.facts, self._replaced)


def _asked(spark: SparkSession, jobs: Sequence[Job]) -> list[Done]:
    """A task for each house; its number comes in by Arrow, and what became of the house goes back so."""
    jobs = list(jobs)

    def task(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        import pyarrow as pa

        for batch in batches:
            done = [do(jobs[number]) for number in batch.column(0).to_pylist()]
            said = [json.dumps(asdict(one), default=str) for one in done]
            yield pa.RecordBatch.from_pydict({"house": [one.house for one in done], "said": said})

    numbers = spark.range(0, len(jobs), 1, len(jobs))
    return [_read(row["said"]) for row in session.in_arrow(numbers, task, ANSWER).collect()]


def _read(said: str) -> Done:
    told: dict[str, Any] = json.loads(said)
    days = {name: told[name] and date.fromisoformat(told[name]) for name in ("first_day", "last_day")}
    return Done(**{**told, **days, "written": [tables.Written(**one) for one in told["written"]]})


def _digest(row: dict[str, Any] | None) -> str | None:
    """Of the files of a house's facts, where they are up to date."""
    return row["files_digest"] if row is not None and row["state"] == "landed" else None


def _row(done: Done, before: dict[str, Any] | None, run_id: str) -> dict[str, Any]:
    """What `houses` says of a house from now on: of one that failed, that its facts before still count."""
    now = {"house": done.house, "state": done.state, "reason_code": done.reason_code, "committed_at": datetime.now(UTC)}
    if done.state == "failed":
        empty = {"run_id": None, "files_digest": None, **dict.fromkeys(COUNTS[:2]), **dict.fromkeys(COUNTS[2:], 0)}
        return {**(before or empty), **now}
    return {**now, "run_id": run_id, "files_digest": done.digest, **{name: getattr(done, name) for name in COUNTS}}


def _frame(rows: list[dict[str, Any]]) -> pl.DataFrame:
    import polars as pl

    return pl.DataFrame(rows, schema=facts.schema(facts.HOUSES))


@contextmanager
def _alone(group: Group) -> Iterator[None]:
    """No other intake of this group meanwhile, as far as one folder can tell; the table `houses` guards the rest.

    Raises:
        StillroomError: there is one.
    """
    with (group.make_kept() / LOCK).open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            raise StillroomError(
                f"Process {lock.read().strip()} is taking in {group.name}: wait until it has finished, then try again."
            ) from None
        lock.truncate(0)
        lock.write(str(os.getpid()))
        lock.flush()
        yield
