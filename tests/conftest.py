import fcntl
import gc
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from selenium import webdriver

import stillroom_schemas.polars_alone  # before a test imports pandera, which then checks as it does in the program
from browser import missing, open_browser

del stillroom_schemas

# Importing and collecting make objects that stay: to search them for cycles all the while takes a sixth of the time.
gc.set_threshold(50_000, 20, 20)

# The same examples at every run: chance never decides whether tests pass. What looks for more is `make fuzz`.
hypothesis.settings.register_profile("the same", derandomize=True, deadline=None)
hypothesis.settings.load_profile("the same")


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Tests, and the programs they start, leave the user's cache alone."""
    before = os.environ.get("XDG_CACHE_HOME")
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))
    yield
    if before is None:
        del os.environ["XDG_CACHE_HOME"]
    else:
        os.environ["XDG_CACHE_HOME"] = before


@pytest.fixture(scope="session", autouse=True)
def _stores_begun() -> Iterator[None]:
    """A new store begins as a copy of an empty one: made anew it takes longer than all the rest of a small intake.

    That stores are made anew is seen wherever a program of its own makes one: the demo house, the houses of a group.
    """
    from house_builder import begun_copy
    from stillroom.store import opening

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(opening, "working_copy", begun_copy)
        yield


@pytest.fixture
def rows_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is derived but the rows in force: for tests that ask for no view, in less than half the time."""
    from house_builder import empty_store
    from stillroom.store import derived, layout
    from stillroom.store.transaction import transaction

    empty_store()  # which is made with all its views

    def make_derived(con: Any, house: Any, tables: Any, decisions: Any) -> None:
        with transaction(con):
            derived.make_current(con, layout.unchanged(con, tables))
            con.execute("UPDATE stillroom_store SET made_for = ?", [derived.fingerprint(con, house, tables, decisions)])

    monkeypatch.setattr(derived, "make_derived", make_derived)


@pytest.fixture(scope="session")
def browser() -> Iterator[webdriver.Chrome]:
    """One headless Chromium for the whole run; tests that ask for it are skipped where there is none."""
    reason = missing()
    if reason:
        pytest.skip(f"no browser to look at the page with ({reason})")
    with open_browser() as driver:
        yield driver


def stillroom(*words: object) -> subprocess.CompletedProcess[str]:
    """Run the real command, as a user does."""
    command = [sys.executable, "-m", "stillroom", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def _write_demo_house(house: Path) -> None:
    """What `make demo` does."""
    assert stillroom("demo", house).returncode == 0
    taken = stillroom("intake", "--json", "--house", house)
    assert taken.returncode == 1, taken.stderr  # 1: a few rows are bad on purpose
    (house / "intake.json").write_text(taken.stdout, encoding="utf-8")
    again = stillroom("intake", "--house", house)
    assert again.returncode == 0
    assert "nothing changed" in again.stdout
    reported = stillroom("report", "--house", house)
    assert (reported.returncode, reported.stderr) == (0, "")
    [kept] = (house / ".stillroom-answers").glob("*.answer")  # others are kept in its place as other tests ask
    (house / "page-modules.json").write_text(json.dumps([*json.loads(kept.read_bytes())["code"]]), encoding="utf-8")


@pytest.fixture(scope="session")
def demo_house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo house with its files taken in, what that said, and its page: to look at; a copy is there to be changed.

    The processes that share the tests out share it, too: the first that asks makes it, and the others wait.
    """
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own
    house = shared / "demo-house"
    with (shared / "demo-house.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not house.exists():
            begun = shared / "demo-house-begun"
            _write_demo_house(begun)
            begun.rename(house)
    return house


@pytest.fixture(scope="session")
def piers() -> Any:
    """An invented group of twelve houses, as its reports answer: to look at."""
    from group_facts import asked, group
    from house_builder import plugins
    from stillroom.group.reporting import document
    from stillroom.objects import HouseFacts

    return document(asked(group()), plugins(), HouseFacts(name="The Piers", currency="EUR"), [])
