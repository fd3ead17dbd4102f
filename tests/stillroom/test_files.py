import errno
import os
import shutil
import stat
from pathlib import Path

import pytest

from stillroom.errors import UsageError
from stillroom.files import (
    copy_all,
    existing_folder,
    new_folder,
    replace_all,
    replace_whole,
    scratch_folder,
    write_whole,
)

FULL = OSError(errno.ENOSPC, "No space left on device")


def failing_at(monkeypatch, place, module, name, times):
    """Of the calls of a function, let those of these places fail, as on a full disk."""
    real, calls = getattr(module, name), []

    def maybe(*given, **also):
        calls.append(given)
        if len(calls) in times:
            raise FULL
        return real(*given, **also)

    monkeypatch.setattr(place, maybe)


def test_a_file_is_replaced_and_nothing_else_is_left(tmp_path):
    path = tmp_path / "page.html"
    write_whole(path, "one")
    write_whole(path, b"two")
    assert path.read_text() == "two"
    assert list(tmp_path.iterdir()) == [path]


def test_when_writing_fails_the_old_file_stays(tmp_path, monkeypatch):
    path = tmp_path / "page.html"
    write_whole(path, "old")

    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(UsageError, match="No space left on device"):
        write_whole(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_a_link(tmp_path):
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_text("old")
    link.symlink_to(target)
    write_whole(link, "new")
    assert link.is_symlink()
    assert target.read_text() == "new"


def test_a_missing_folder_is_named(tmp_path):
    with pytest.raises(UsageError, match=r"no folder .*absent"):
        write_whole(tmp_path / "absent" / "page.html", "x")


def test_a_folder_is_not_a_file(tmp_path):
    with pytest.raises(UsageError, match="is a folder; name a file in it"):
        write_whole(tmp_path, "x")


def test_a_file_in_the_way_of_a_folder_is_named(tmp_path):
    (tmp_path / "out").write_text("x")
    with pytest.raises(UsageError, match="out cannot be made"):
        existing_folder(tmp_path / "out")


def test_the_rights_of_the_old_file_stay(tmp_path):
    path = tmp_path / "stillroom.toml"
    path.write_text("old")
    path.chmod(0o640)
    replace_whole(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.parametrize("place", [1, 2, 3])
@pytest.mark.parametrize("call", ["os.fsync", "pathlib.Path.replace"])
def test_of_several_files_all_are_written_or_none(tmp_path, monkeypatch, call, place):
    replace_whole(tmp_path / "b", b"old")
    failing_at(monkeypatch, call, *((os, "fsync") if call == "os.fsync" else (Path, "replace")), times={place})
    with pytest.raises(OSError, match="No space left"):
        replace_all({tmp_path / "a": b"new", tmp_path / "b": b"new", tmp_path / "c": b"new"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"b": b"old"}


def test_of_several_files_all_are_copied_or_none(tmp_path, monkeypatch):
    for name in "ab":
        (tmp_path / name).write_text(name)
    copies = {tmp_path / name: tmp_path / "house" / name for name in "ab"}
    failing_at(monkeypatch, "shutil.copy2", shutil, "copy2", times={2})
    with pytest.raises(OSError, match="No space left"):
        copy_all(copies)
    assert list((tmp_path / "house").iterdir()) == []
    copy_all(copies)
    assert (tmp_path / "house/b").read_text() == "b"


def test_a_file_with_the_longest_name_there_can_be_is_replaced(tmp_path):
    replace_whole(tmp_path / ("x" * 255), b"new")
    assert [path.name for path in tmp_path.iterdir()] == ["x" * 255]


def test_of_a_new_folder_that_cannot_be_filled_nothing_is_left(tmp_path):
    def filled():
        with new_folder(tmp_path, "house"):
            (tmp_path / "till").mkdir()
            (tmp_path / "stillroom.toml").write_text("half")
            raise FULL

    for _ in range(2):  # it is as empty as before
        with pytest.raises(UsageError, match=r"cannot be written to .*No space left"):
            filled()
    assert list(tmp_path.iterdir()) == []


def test_where_nothing_can_be_written_for_the_time_being_one_line_says_so(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "absent"))
    with pytest.raises(UsageError, match=r"absent .No such file or directory.: make room"), scratch_folder():
        pass
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(UsageError, match="No space left"), scratch_folder():
        raise FULL
    with pytest.raises(FileNotFoundError), scratch_folder():  # of a file elsewhere this says nothing
        Path("/nowhere").read_bytes()
    assert list(tmp_path.iterdir()) == []
