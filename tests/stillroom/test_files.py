import stat

import pytest

from stillroom.errors import UsageError
from stillroom.files import existing_folder, replace_whole, write_whole


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
