from __future__ import annotations

from datetime import date, timedelta

import pytest

from house_builder import command
from small_houses import make_group, write_house
from stillroom.demo.evenings import expected_serves
from stillroom.demo.truths import LIFT
from stillroom.errors import SettingsError
from stillroom.group import places
from stillroom.group.demo import SELLS_BETTER, SELLS_THE_SAME, house, write_demo
from stillroom.group.settings import load_group

BOOK = """
[book]
folder = "book"
own_versions = ["pier-*"]
[[book.source]]
name = "specs"
plugin = "spec-book"
"""


def test_places_are_whole_and_own_versions_are_told_by_name(tmp_path):
    group = make_group(tmp_path, BOOK, at="s3://skarn/houses/*", pier=(1,))
    assert group.at == (str(tmp_path / "houses/*"), "s3://skarn/houses/*")
    assert (group.facts, group.kept) == (str(tmp_path / "facts"), tmp_path / "kept")
    assert [group.has_own_versions(name) for name in ("pier-1", "quay")] == [True, False]
    assert group.make_kept().stat().st_mode & 0o077 == 0  # names of panelists stand there
    assert make_group(tmp_path).has_own_versions("quay")  # without a shared book there is no other


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            '[group]\nname = "G"\nsparks = "x"\n[houses]\nat = "h"',
            "line 3: [group] has no setting 'sparks'; did you mean",
        ),
        ('[group]\nname = "G"', "houses is missing"),
        ('[group]\nname = "G"\nkept = "s3://b/kept"\n[houses]\nat = "h"', "[group] kept must be a folder"),
        ("[group", "cannot be read"),
    ],
)
def test_a_wrong_setting_is_named_with_its_line(tmp_path, text, said):
    (tmp_path / "group.toml").write_text(text)
    with pytest.raises(SettingsError) as raised:
        load_group(tmp_path)
    assert said in str(raised.value)


def test_houses_are_found_by_pattern_by_folder_and_by_address(tmp_path):
    write_house(tmp_path / "far" / "mole", 1)
    (tmp_path / "houses" / "no-house").mkdir(parents=True)
    group = make_group(tmp_path, at=f"file://{tmp_path}/far/*", pier=(1,), quay=(1,))
    assert list(places.houses(group)) == ["mole", "pier", "quay"]
    assert places.houses(make_group(tmp_path, at="far/never-there"))["never-there"].endswith("far/never-there")


def test_a_pattern_without_any_house_is_told_as_its_houses_may_but_be_out_of_reach(tmp_path):
    with pytest.raises(SettingsError, match=r"no house is at .*far/\*; take it out of the list if that is right"):
        places.houses(make_group(tmp_path, at="far/*", pier=(1,)))


def test_what_an_object_stores_client_says_is_one_line():
    """As `deltalake` 1.6 says it of a missing bucket, and of a store that is not there."""
    answer = "<Error><Code>NoSuchBucket</Code><Message>The specified bucket does not exist</Message></Error>"
    arrow = "\n   \x1b[31m↳\x1b[0m "
    missing = OSError(f"Generic S3 error{arrow}404 Not Found{arrow}<?xml version='1.0'?>\n{answer}\n")
    assert places.said(missing) == "OSError: The specified bucket does not exist"
    refused = OSError(f"Generic S3 error{arrow}client error (Connect){arrow}Connection refused (os error 111)")
    assert places.said(refused) == "OSError: Connection refused (os error 111)"


def test_two_houses_of_one_name_are_refused(tmp_path):
    write_house(tmp_path / "far" / "pier", 1)
    with pytest.raises(SettingsError, match="are both called pier"):
        places.houses(make_group(tmp_path, at="far/*", pier=(1,)))


def test_new_versions_come_to_the_houses_of_a_demo_group_on_days_of_their_own():
    houses = [house(number) for number in range(12)]
    for (spec, version), lift in ((SELLS_BETTER, LIFT[2]), (SELLS_THE_SAME, 1.0)):
        came = [one.book.since(spec, version) for one in houses]
        assert len(set(came)) >= 6
        assert 3 <= came.count(None) <= 6
        for one, day in zip(houses, came, strict=True):
            before, after = (expected_serves(spec, on, one) for on in (date(2026, 9, 8), date(2026, 11, 17)))
            assert after / before == pytest.approx(lift if day else 1.0)
            old = next(v for v in one.book.drinks if (v.spec, v.version) == (spec, version - 1))
            assert old.until == (day - timedelta(days=1) if day else None)


def test_a_demo_group_has_houses_of_their_own_and_never_overwrites(tmp_path):
    write_demo(tmp_path / "group", 2)
    houses = places.houses(load_group(tmp_path / "group"))
    assert list(houses) == ["brinewick-room", "eelmarket-room"]
    folders = [tmp_path / "group" / "houses" / name for name in houses]
    tills = [sorted(file.read_text() for file in folder.glob("till/*.csv")) for folder in folders]
    assert tills[0] != tills[1]
    assert 'name = "The Eelmarket Room"' in (folders[1] / "stillroom.toml").read_text()
    again = command("group", "demo", tmp_path / "group")
    assert (again.code, again.err) == (2, f"{tmp_path / 'group'} is not empty: name a new folder for the demo group.\n")
