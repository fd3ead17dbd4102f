from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from house_builder import command, put
from small_houses import make_group, sales, write_house
from stillroom.group import facts, intake, reading, session, tables
from stillroom.group.house_task import Done, Job, do
from stillroom.group.settings import Group

DRIVER = """
import os, signal, sys
from pathlib import Path
from stillroom.group import facts, intake, tables
from stillroom.group.settings import load_group
tables.Standing.commit = lambda *given: os.kill(os.getpid(), signal.SIGKILL)
intake.take_in(load_group(Path(sys.argv[1])))
"""


def states(taken: intake.Taken) -> dict[str, str]:
    return {one.house: one.state for one in taken.done}


def sold(group: Group) -> dict[str, float]:
    """Serves of each house, whose facts count."""
    rows = reading.rolled(group, "SELECT house, sum(serves) AS sold FROM daily_serves GROUP BY house ORDER BY house")
    return dict(rows.rows())


@pytest.mark.usefixtures("spark")
def test_houses_land_whole_or_stay_as_they_were(tmp_path):
    write_house(tmp_path / "far" / "mole", 8)
    group = make_group(tmp_path, at=f"file://{tmp_path}/far/mole", pier=(1, 2), quay=(4,))
    first = command("group", "intake", "--group", tmp_path)
    assert (first.code, first.err) == (0, "")
    assert "pier: 5 rows read = 5 landed + 0 set aside + 0 passed over." in first.out
    assert "3 houses landed, 0 failed, 0 as before." in first.out
    assert "Together 13 rows read = 13 landed + 0 set aside + 0 passed over." in first.out
    assert sold(group) == {"mole": 8, "pier": 3, "quay": 4}

    put(tmp_path / "houses" / "pier", "sale/till.csv", sales(1, 2, 30))
    put(tmp_path / "houses" / "quay", "sale/till.csv", b"\xff\xfe\x00")
    second = command("group", "intake", "--group", tmp_path)
    assert second.code == 1
    assert second.err.startswith("quay failed (file): sale/till.csv")
    assert "1 house landed, 1 failed, 1 as before." in second.out
    assert sold(group) == {"mole": 8, "pier": 33, "quay": 4}
    houses = {row["house"]: row for row in reading.facts(group, "houses").iter_rows(named=True)}
    assert {name: (row["state"], row["reason_code"]) for name, row in houses.items()} == {
        "mole": ("landed", None),
        "pier": ("landed", None),
        "quay": ("failed", "file"),
    }

    put(tmp_path / "houses" / "quay", "sale/till.csv", sales(5))
    shutil.rmtree(tmp_path / "houses" / "pier")
    third = command("group", "intake", "--json", "--group", tmp_path)
    assert third.json["gone"] == ["pier"]
    assert {one["house"]: one["state"] for one in third.json["houses"]} == {"mole": "unchanged", "quay": "landed"}
    assert sold(group) == {"mole": 8, "quay": 5}


@pytest.mark.usefixtures("spark")
def test_spark_and_duckdb_give_the_same_rows_for_the_same_statement(tmp_path):
    group = make_group(tmp_path, pier=(1, 2), quay=(4,))
    intake.take_in(group)
    for statement in (
        "SELECT house, drink_key, version, sum(serves) AS serves, avg(net_price) AS price FROM daily_serves "
        "GROUP BY house, drink_key, version ORDER BY house",
        "SELECT CAST(date_trunc('WEEK', day) AS DATE) AS week, count(DISTINCT house) AS houses FROM daily_serves "
        "GROUP BY 1",
        "WITH days AS (SELECT house, count(*) FILTER (WHERE has_sales) AS sold, min(day) AS first FROM open_days "
        "GROUP BY house) SELECT days.house, sold, first, datediff(last_day, first) AS days FROM days JOIN houses "
        "ON houses.house = days.house ORDER BY days.house",
        "SELECT sum(rows_read) AS read, sum(landed) + sum(aside) + sum(passed_over) AS told FROM houses",
        "SELECT percentile_cont(0.5) WITHIN GROUP (ORDER BY cost) AS median FROM costs WHERE is_known",
        "SELECT * FROM panel_scores",
    ):
        spark, duckdb = reading.rolled(group, statement), reading.rolled_by_duckdb(group, statement)
        assert spark.rows() == duckdb.rows(), statement
        assert spark.columns == duckdb.columns
    assert spark.is_empty()


@pytest.mark.usefixtures("spark")
def test_facts_at_an_address_are_read_by_the_tasks_themselves(tmp_path):
    """An object store is such an address, for which Spark has no file system of its own."""
    group = replace(make_group(tmp_path, pier=(1, 2), quay=(4,)), facts=f"file://{tmp_path}/far")
    intake.take_in(group)
    assert sold(group) == {"pier": 3, "quay": 4}
    folder = replace(group, facts=str(tmp_path / "far"))
    for table in facts.COLUMNS:
        found, known = (reading.facts(one, table).sort(pl.all()) for one in (group, folder))
        assert found.rows() == known.rows(), table
        assert found.schema == known.schema, table


@pytest.mark.usefixtures("spark")
def test_a_statement_that_cannot_be_answered_is_refused_in_one_line(tmp_path):
    group = make_group(tmp_path, pier=(1,))
    for statement in ("SELECT * FROM panelists", "SELEC", "SELECT no_such FROM houses"):
        with pytest.raises(reading.UsageError):
            reading.rolled(group, statement)


@pytest.mark.usefixtures("spark")
def test_a_task_whose_process_is_killed_is_begun_anew(tmp_path, monkeypatch):
    def killed_once(job: Job) -> Done:
        """The process dies when the house's store is made and its facts are written, before anybody is told."""
        from stillroom.group import tables

        write, flag = tables.write, Path(job.facts) / f"killed-{job.house}"

        def then_die(*given: Any) -> None:
            write(*given)
            os.kill(os.getpid(), signal.SIGKILL)

        if job.house == "pier" and not flag.exists():
            flag.touch()
            tables.write = then_die  # type: ignore[assignment]
        return do(job)

    group = make_group(tmp_path, pier=(1, 2), quay=(4,))
    monkeypatch.setattr(intake, "do", killed_once)
    assert states(intake.take_in(group)) == {"pier": "landed", "quay": "landed"}
    assert (Path(group.facts) / "killed-pier").exists()
    assert sold(group) == {"pier": 3, "quay": 4}


@pytest.mark.usefixtures("spark")
def test_a_house_that_kills_every_process_is_named_and_takes_no_other_with_it(tmp_path, monkeypatch):
    def deadly(job: Job) -> Done:
        if job.house == "pier":
            os.kill(os.getpid(), signal.SIGKILL)
        return do(job)

    group = make_group(tmp_path, pier=(1, 2), quay=(4,))
    monkeypatch.setattr(intake, "do", deadly)
    taken = intake.take_in(group)
    assert states(taken) == {"pier": "failed", "quay": "landed"}
    assert taken.done[0].reason_code == "killed"
    monkeypatch.setattr(intake, "do", do)
    assert states(intake.take_in(group)) == {"pier": "landed", "quay": "unchanged"}
    assert sold(group) == {"pier": 3, "quay": 4}


@pytest.mark.usefixtures("spark")
def test_an_intake_that_another_has_outrun_counts_nothing_twice(tmp_path, monkeypatch):
    """Two machines do not see one another's lock: a second run comes between the first's facts and `houses`."""
    group = make_group(tmp_path, pier=(1, 2), quay=(4,))
    commit, runs = tables.commit, []

    def outrun(*given: Any) -> None:
        commit(*given)
        monkeypatch.setattr(tables, "commit", commit)
        runs.append(intake.take_in(group))

    monkeypatch.setattr(tables, "commit", outrun)
    monkeypatch.setattr(intake, "_alone", lambda group: contextlib.nullcontext())
    runs.append(intake.take_in(group))
    assert [states(run) for run in runs] == [{"pier": "landed", "quay": "landed"}] * 2
    assert set(tables.counting(group.facts).values()) == {runs[0].run_id}
    assert sold(group) == {"pier": 3, "quay": 4}


@pytest.mark.usefixtures("spark")
def test_what_a_killed_driver_has_written_counts_for_nothing_and_the_next_run_completes(tmp_path):
    group = make_group(tmp_path, pier=(1, 2))
    killed = subprocess.run([sys.executable, "-c", DRIVER, str(tmp_path)], capture_output=True, check=False)
    assert killed.returncode == -signal.SIGKILL, killed.stderr
    assert len(list(Path(group.facts, "daily_serves").rglob("*.parquet"))) == 1
    assert sold(group) == {}
    assert states(intake.take_in(group)) == {"pier": "landed"}
    assert sold(group) == {"pier": 3}


def test_a_second_intake_at_once_is_told_who_is_at_work(tmp_path):
    if session.missing():
        pytest.skip(f"no Spark ({session.missing()})")
    group = make_group(tmp_path, pier=(1,))
    with intake._alone(group):
        second = command("group", "intake", "--group", tmp_path)
    assert second.code == 2
    assert second.err.startswith(f"Process {os.getpid()} is taking in The Group: wait until it has finished")


def test_without_the_extra_or_java_one_line_says_what_to_install(tmp_path, monkeypatch):
    make_group(tmp_path, pier=(1,))
    monkeypatch.setitem(sys.modules, "pyspark", None)
    said = command("group", "intake", "--group", tmp_path)
    assert (said.code, said.out) == (2, "")
    assert said.err == "Groups need Spark and Delta tables (pyspark is missing): pip install 'stillroom[group]'.\n"
    for library in ("pyspark", "deltalake", "fsspec", "pyarrow", "sqlglot"):
        monkeypatch.setitem(sys.modules, library, sys)
    monkeypatch.setenv("PATH", "/nowhere")
    monkeypatch.delenv("JAVA_HOME", raising=False)
    said = command("group", "intake", "--group", tmp_path)
    assert said.err.startswith("Groups need Java 17 for Spark: install Debian's openjdk-17-jre-headless")
