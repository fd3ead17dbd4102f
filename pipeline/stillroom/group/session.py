"""Spark for as long as a command needs it: on this machine, or a cluster by its address."""

from __future__ import annotations

import os
import re
import shutil
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.errors import StillroomError, UsageError, in_one_line

if TYPE_CHECKING:
    import pyarrow as pa
    from pyspark.sql import DataFrame, SparkSession

    from stillroom.group.settings import Group

    ArrowTask = Callable[[Iterator[pa.RecordBatch]], Iterator[pa.RecordBatch]]

LOG: Final = "spark.log"
TRIES: Final = 4
"""How often a task is begun whose machine or process is lost; Spark's own number, which it drops on one machine."""

SETTINGS: Final = {
    # Houses share the processors: each has one thread of polars and of the database.
    "spark.executorEnv.POLARS_MAX_THREADS": "1",
    "spark.sql.session.timeZone": "UTC",
    "spark.sql.shuffle.partitions": "8",  # answers are small
    "spark.ui.enabled": "false",
    "spark.ui.showConsoleProgress": "false",
    # Two of one house at once would wait for the same store.
    "spark.speculation": "false",
}
ON_THIS_MACHINE: Final = {"spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1"}


def missing() -> str | None:
    """What is to be installed before groups can be used, in one line; None where all is there."""
    try:
        import deltalake
        import fsspec
        import pyarrow
        import pyspark
        import sqlglot
    except ImportError as error:
        return f"Groups need Spark and Delta tables ({error.name} is missing): pip install 'stillroom[group]'."
    del deltalake, fsspec, pyarrow, pyspark, sqlglot
    if shutil.which("java") or (Path(os.environ.get("JAVA_HOME", "/nowhere")) / "bin" / "java").exists():
        return None
    return "Groups need Java 17 for Spark: install Debian's openjdk-17-jre-headless, or set JAVA_HOME."


def check() -> None:
    """Raises UsageError where something is to be installed first."""
    if (what := missing()) is not None:
        raise UsageError(what)


@contextmanager
def opened(group: Group) -> Iterator[SparkSession]:
    """Spark; one that runs already in this process is used, and left running.

    Raises:
        UsageError: something is to be installed first.
        StillroomError: Spark cannot be started, or its cluster cannot be reached.
    """
    check()
    from pyspark.sql import SparkSession

    running = SparkSession.getActiveSession()
    if running is not None:
        yield running
        return
    spark = _started(group)
    try:
        yield spark
    finally:
        spark.stop()


def in_arrow(frame: DataFrame, task: ArrowTask, schema: str) -> DataFrame:
    """What a task makes of a frame, batch by batch."""
    with warnings.catch_warnings():  # Spark says here that it does not know the newest pandas, which is not used
        warnings.simplefilter("ignore", FutureWarning)
        return frame.mapInArrow(task, schema)


def _started(group: Group) -> SparkSession:
    from pyspark.sql import SparkSession

    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    local = re.fullmatch(r"local(?:\[([0-9*]+)\])?", group.spark)
    master = f"local[{local[1] or 1},{TRIES}]" if local else group.spark
    builder = SparkSession.builder.master(master).appName(f"stillroom {group.name}")
    for name, value in {**SETTINGS, **(ON_THIS_MACHINE if local else {})}.items():
        builder = builder.config(name, value)
    log = group.make_kept() / LOG
    with _noise_into(log):
        try:
            spark = builder.getOrCreate()
        except Exception as error:
            raise StillroomError(
                f"Spark cannot be started at {group.spark} ({in_one_line(error)[:200]}): see {log}."
            ) from None
    spark.sparkContext.setLogLevel("ERROR")
    return spark


@contextmanager
def _noise_into(log: Path) -> Iterator[None]:
    """What Spark's processes say from now on goes into a file: a person has no use for it while all is well."""
    sys.stderr.flush()
    before = os.dup(2)
    with log.open("ab") as file:
        os.dup2(file.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(before, 2)
        os.close(before)
