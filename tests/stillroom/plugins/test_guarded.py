"""What a stranger's code does wrong is named, and holds nobody else up: it prints, hangs, or ends the program."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import threading
import time
import warnings
from dataclasses import replace
from pathlib import Path
from typing import Any

import polars as pl
import pytest

from house_builder import GOOD, HOUSE, SOURCES, command, current, good, make_house, put, take_in
from stillroom import cli, guarded
from stillroom.objects import Finding, Malformed, ReportInputs, ReportResult, ReportTable
from strangers import batch, install, report, source

EVIL = "Fig\x1b[2J\x9b31m\u202e Sour\x07"
SEEN = "Fig�[2J�31m� Sour�"
STEERS = {"\x1b", "\x9b", "\u202e", "\x07"}
DAYS = ("--from", "2026-03-01", "--to", "2026-03-31")


def well(inputs: ReportInputs) -> ReportResult:
    print("looking")
    return ReportResult(findings=(Finding(sentence="All is well.", evidence="none"),))


def hangs(*anything: Any) -> Any:
    while True:
        time.sleep(0.05)


def leaves(*anything: Any) -> Any:
    sys.exit(0)


def interrupts(*anything: Any) -> Any:
    raise KeyboardInterrupt


@pytest.fixture(scope="module")
def taken_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A house with one sale, whose name would steer a terminal."""
    folder = tmp_path_factory.mktemp("house")
    house = make_house(folder, HOUSE + "plugin_seconds = 0.3\n" + SOURCES)
    put(folder, "sale/sale.csv", [good("sale", till_item=EVIL)])
    take_in(house)
    return folder


def test_what_a_plugin_prints_spoils_no_json(taken_in, monkeypatch):
    def register() -> list[Any]:
        print("registering")
        return [report("well", well)]

    install(monkeypatch, chatty={"register_reports": register})
    said = command("report", "well", "--format", "json", *DAYS, house=taken_in)
    assert said.json["reports"][0]["findings"][0]["sentence"] == "All is well."
    assert {"registering", "looking"} <= set(said.err.split())


def test_a_hook_that_hangs_is_left_out(taken_in, monkeypatch):
    monkeypatch.setattr(guarded, "INSTANT", 0.2)
    install(monkeypatch, sleepy={"register_reports": hangs}, sound={"register_reports": [report("well", well)]})
    said = command("report", "well", *DAYS, house=taken_in)
    assert (said.code, "All is well." in said.out) == (0, True)
    assert "Plugin 'sleepy': register_reports failed (it takes more than 0.2 s): it is left out." in said.err


ENDS = {"hangs": "it takes more than 0.3 s", "leaves": "SystemExit: 0", "interrupts": "KeyboardInterrupt"}


def test_reports_that_hang_or_end_are_left_out(taken_in, monkeypatch):
    odd = [report(end, globals()[end]) for end in ENDS]
    install(monkeypatch, stranger={"register_reports": [*odd, report("well", well)]})
    said = command("report", *ENDS, "well", *DAYS, house=taken_in)
    assert (said.code, "All is well." in said.out) == (0, True)
    assert sorted(said.err.replace("looking\n", "").splitlines()) == sorted(
        f"Report '{name}' of plugin 'stranger' failed ({what}): it is left out." for name, what in ENDS.items()
    )


ODD_RESULTS = {
    "findings": lambda: ReportResult(findings="none"),
    "notes": lambda: ReportResult(notes=(3,)),
    "halves": lambda: ReportResult(notes=("\ud800",)),
    "sentence": lambda: ReportResult(findings=(Finding(sentence="\ud800", evidence=""),)),
    "charts": lambda: ReportResult(charts=("a chart",)),
    "frame": lambda: ReportTable(name="t", title="T", frame=pl.LazyFrame(), columns={}),
    "heading": lambda: ReportTable(name="t", title=None, frame=pl.DataFrame(), columns={}),
}


def test_reports_of_which_nothing_can_be_shown_are_left_out(taken_in, monkeypatch):
    odd = [report(name, lambda inputs, odd=odd: odd()) for name, odd in ODD_RESULTS.items()]
    install(monkeypatch, stranger={"register_reports": [*odd, report("well", well)]})
    said = command("report", *ODD_RESULTS, "well", *DAYS, house=taken_in)
    assert (said.code, "All is well." in said.out) == (0, True)
    faults = [line for line in said.err.splitlines() if line != "looking"]
    assert len(faults) == len(ODD_RESULTS)
    for name, fault in zip(sorted(ODD_RESULTS), sorted(faults), strict=True):
        assert fault.startswith(f"Report '{name}' of plugin 'stranger' failed (")
        assert fault.endswith("): it is left out.")


def test_what_a_report_does_to_its_frames_no_other_sees(taken_in, monkeypatch):
    def spoils(inputs: ReportInputs) -> ReportResult:
        inputs.frames["unmatched_sales"].drop_in_place("quantity")
        return ReportResult()

    def looks(inputs: ReportInputs) -> ReportResult:
        return ReportResult(notes=(f"It has {'quantity' in inputs.frames['unmatched_sales'].columns}.",))

    view = "unmatched_sales"
    install(monkeypatch, stranger={"register_reports": [report("a", spoils, view), report("b", looks, view)]})
    said = command("report", "a", "b", "--format", "json", *DAYS, house=taken_in)
    assert "It has True." in said.out


def test_what_a_plugin_changes_of_the_process_is_put_back(taken_in, monkeypatch, tmp_path):
    def spoils(inputs: ReportInputs) -> ReportResult:
        os.chdir("/")
        sys.path.clear()
        sys.path.append("/added")
        sys.setrecursionlimit(400)
        sys.excepthook = threading.excepthook = None  # type: ignore[assignment]
        warnings.simplefilter("error")
        return ReportResult()

    def state() -> tuple[object, ...]:
        hooks = sys.excepthook, threading.excepthook
        return os.getcwd(), sys.getrecursionlimit(), hooks, list(warnings.filters), set(sys.path) - {"/added"}

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "path", list(sys.path))
    before = state()
    install(monkeypatch, stranger={"register_reports": [report("spoils", spoils), report("well", well)]})
    said = command("report", "spoils", "well", "--out", "page.html", *DAYS, house=taken_in)
    assert (said.code, state()) == (0, before)
    assert (tmp_path / "page.html").exists()
    assert "/added" in sys.path


def test_a_plugin_that_closes_standard_error_is_no_fault_of_ours(taken_in, monkeypatch):
    def closes(inputs: ReportInputs) -> ReportResult:
        sys.stderr.close()
        raise ValueError

    monkeypatch.setattr(sys, "stderr", io.StringIO())
    install(monkeypatch, stranger={"register_reports": [report("closes", closes), report("well", well)]})
    out = io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "argv", ["stillroom", "report", "closes", "well", *DAYS, "--house", str(taken_in)])
    assert cli.answered() == 0
    assert "All is well." in out.getvalue()


ENDLESS = """
import multiprocessing, threading, time
from concurrent.futures import ThreadPoolExecutor
threading.Thread(target=time.sleep, args=(600,), daemon=False).start()
ThreadPoolExecutor(1).submit(time.sleep, 600)
multiprocessing.get_context("fork").Process(target=time.sleep, args=(600,)).start()
"""


def test_the_program_ends_whatever_a_plugin_has_begun(taken_in, tmp_path):
    (tmp_path / "endless.py").write_text(ENDLESS)
    put(tmp_path, "endless-1.dist-info/METADATA", "Metadata-Version: 2.1\nName: endless\nVersion: 1\n")
    put(tmp_path, "endless-1.dist-info/entry_points.txt", "[stillroom]\nendless = endless\n")
    paths = os.pathsep.join([str(tmp_path), *sys.path])
    words = [sys.executable, "-m", "stillroom", "ledger", "--json", "--house", str(taken_in)]
    said = subprocess.run(words, capture_output=True, env={**os.environ, "PYTHONPATH": paths}, timeout=60, check=True)
    assert json.loads(said.stdout)[0]["file"] == "sale/sale.csv"


def test_ctrl_c_inside_a_report_ends_cleanly(taken_in, monkeypatch):
    def pressed(inputs: ReportInputs) -> ReportResult:
        os.kill(os.getpid(), signal.SIGINT)
        return hangs()

    before = signal.getsignal(signal.SIGINT)
    settings = (taken_in / "stillroom.toml").read_text()
    (taken_in / "stillroom.toml").write_text(settings.replace("plugin_seconds = 0.3", "plugin_seconds = 600"))
    install(monkeypatch, stranger={"register_reports": [report("odd", pressed)]})
    there = set(taken_in.iterdir())
    try:
        said = command("report", "odd", *DAYS, house=taken_in)
    finally:
        signal.signal(signal.SIGINT, before)
        (taken_in / "stillroom.toml").write_text(settings)
    assert (said.code, said.out) == (130, "")
    assert said.err == "Stopped. What had been finished stays; nothing was left half-written.\n"
    assert set(taken_in.iterdir()) == there


def some_then(end: Any) -> Any:
    def read(file: Any) -> Any:
        yield batch([good("sale", till_item="Half")])
        end()

    return read


def test_sources_that_hang_or_end_are_named_and_the_other_files_land(tmp_path, monkeypatch):
    sources, settings = [], HOUSE + "plugin_seconds = 0.3\n" + SOURCES
    for name in ENDS:
        end = globals()[name]
        odd = [source(f"{name}-{n}", "sale", read, *GOOD["sale"]) for n, read in enumerate((some_then(end), end))]
        sources += [*odd, replace(odd[0], name=f"{name}-2", headings=end)]
    for odd in sources:
        settings += f'[[source]]\nname = "{odd.name}"\nplugin = "{odd.name}"\nfiles = ["odd/{odd.name}"]\n'
        put(tmp_path, f"odd/{odd.name}", "whatever")
    install(monkeypatch, stranger={"register_sources": sources})
    house = make_house(tmp_path, settings)
    put(tmp_path, "sale/sale.csv", [good("sale")])
    said = command("intake", house=house)
    assert said.code == 1
    wanted = {f"odd/{one.name}: source plugin '{one.name}' failed ({ENDS[one.name[:-2]]})." for one in sources}
    assert set(said.err.splitlines()) == wanted
    assert len(wanted) == 9
    assert "1 row landed, 0 set aside, 9 files refused." in said.out
    assert current(house, "sale", "till_item") == [("Fig Sour",)]


ROWS = batch([good("sale", till_item="Odd")])
ODD_BATCHES = {
    "no-number": lambda: replace(ROWS, row_numbers=pl.Series([None])),
    "list": lambda: replace(ROWS, row_numbers=[2]),
    "far": lambda: replace(ROWS, row_numbers=pl.Series([2**64 - 1], dtype=pl.UInt64)),
    "rows": lambda: replace(ROWS, rows=None),
    "fewer": lambda: replace(ROWS, passed_over=-1),
    "half": lambda: replace(ROWS, passed_over=0.5),
    "malformed": lambda: replace(ROWS, malformed=("row 3",)),
    "cells": lambda: replace(ROWS, malformed=(Malformed(row_number=3, problem="odd", cells=(None,)),)),
    "letter": lambda: replace(ROWS, malformed=(Malformed(row_number=3, problem="odd", cells=("\ud800",)),)),
}
ODD_SOURCES = {
    "headings": {"headings": lambda file: None},
    "numbers": {"headings": lambda file: [1, 2]},
    "word": {"headings": lambda file: "sold_at"},
    "beside": {"beside": lambda path: None},
}


def test_sources_that_hand_over_nonsense_are_named_and_the_other_files_land(tmp_path, monkeypatch):
    sources = [
        source(name, "sale", lambda file, odd=odd: iter([odd()]), *GOOD["sale"]) for name, odd in ODD_BATCHES.items()
    ]
    sound = source("sound", "sale", lambda file: iter([ROWS]), *GOOD["sale"])
    sources += [replace(sound, name=name, **odd) for name, odd in ODD_SOURCES.items()]
    settings = "".join(
        f'[[source]]\nname = "{s.name}"\nplugin = "{s.name}"\nfiles = ["odd/{s.name}"]\n' for s in sources
    )
    for odd in sources:
        put(tmp_path, f"odd/{odd.name}", "whatever")
    install(monkeypatch, stranger={"register_sources": sources})
    house = make_house(tmp_path, HOUSE + SOURCES + settings)
    put(tmp_path, "sale/sale.csv", [good("sale")])
    said = command("intake", house=house)
    assert said.code == 1
    faults = sorted(said.err.splitlines())
    for name, fault in zip(sorted([*ODD_BATCHES, *ODD_SOURCES]), faults, strict=True):
        assert f"{name}: source plugin '{name}' failed (" in fault
    assert current(house, "sale", "till_item") == [("Fig Sour",)]


def test_a_file_read_with_another_that_is_not_there_is_named(tmp_path, monkeypatch):
    sound = source("sound", "sale", lambda file: iter([ROWS]), *GOOD["sale"])
    odd = replace(sound, beside=lambda path: (path.with_name("key.csv"),))
    install(monkeypatch, stranger={"register_sources": [odd]})
    house = make_house(tmp_path, HOUSE + '[[source]]\nname = "a"\nplugin = "sound"\nfiles = ["a.csv"]\n')
    put(tmp_path, "a.csv", "whatever")
    said = command("intake", house=house)
    assert said.err == "a.csv: key.csv is read with it, and cannot be read (No such file or directory).\n"


# Nothing in a file or name steers a terminal -------------------------------------------------------------------


def test_no_name_reaches_the_terminal_as_it_is(taken_in):
    for words in (("match",), ("spec", EVIL), ("report", EVIL), ("undo", EVIL)):
        said = command(*words, house=taken_in)
        assert SEEN in said.out + said.err, words
        assert not STEERS & set(said.out + said.err), words
    assert not STEERS & set(command("ledger", EVIL, house=taken_in).err)


def test_json_keeps_every_character_and_shows_none_that_steers(taken_in):
    said = command("intake", "--json", house=taken_in)
    assert said.json["unmatched"][0]["till_item"] == EVIL
    assert not STEERS & set(said.out)
