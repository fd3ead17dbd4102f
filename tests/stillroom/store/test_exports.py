"""Every till line of a season counts once, however its exports are cut and in whatever order they come."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import duckdb
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from stillroom.house.decisions import Decisions, Edition
from stillroom.house.house import House
from stillroom.store import exports, frames, in_force, layout, ledger
from stillroom_schemas.tables import SALE

MONDAY = datetime(2026, 3, 2)
DAY_STARTS = timedelta(hours=5)
ZONE = "Europe/Amsterdam"
PUT_BACK = datetime(2026, 10, 25, 2)
"""When the clocks there go from 3:00 to 2:00: from memory, and as the IANA time zone database has it."""
BAR = House(folder=Path(), name="Bar", currency="EUR")
OFTEN = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@dataclass(frozen=True, order=True)
class Line:
    sold_at: datetime
    venue: str
    item: str
    quantity: int = 1
    line_id: str | None = None

    @property
    def day(self) -> date:
        return (self.sold_at - DAY_STARTS).date()


class Store:
    """A store of sales alone, in memory: files go in as lists of lines that were checked."""

    def __init__(self) -> None:
        self.con = duckdb.connect()
        layout.create_tables(self.con, [SALE])
        self.con.execute("INSERT INTO stillroom_store VALUES (0, '', ?, ?)", [DAY_STARTS.seconds // 60, ZONE])
        self.empty()

    def empty(self) -> None:
        self.con.execute("DELETE FROM sale; DELETE FROM intake; DELETE FROM standing; DELETE FROM span")
        self.con.execute("DELETE FROM superseded")
        self.decisions = Decisions(Path("decisions.jsonl"))

    def land(self, lines: Iterable[Line], name: str | None = None) -> int:
        lines, number, now = list(lines), ledger.next_id(self.con), ledger.now()
        rows = pl.DataFrame(
            {
                "sold_at": [x.sold_at for x in lines],
                "venue": [x.venue for x in lines],
                "till_item": [x.item for x in lines],
                "quantity": [x.quantity for x in lines],
                "net_amount": [x.quantity * 9 for x in lines],
                "line_id": pl.Series([x.line_id for x in lines], dtype=pl.String),
                "row_number": range(len(lines)),
            }
        )
        frames.insert(self.con, "sale", rows, intake_id=number, file="f")
        counts = {"rows_read": len(lines), "rows_landed": len(lines), "rows_set_aside": 0, "rows_passed_over": 0}
        texts = dict.fromkeys(("source", "plugin", "reading", "corrections"), "")
        entry = ledger.Entry(
            intake_id=number,
            table_name="sale",
            file=name or f"{number}.csv",
            sha256=str(number),
            began_at=now,
            ended_at=now,
            **texts,
            **counts,
        )
        self.decisions.add("taken", entry.edition, reading="")
        last = in_force.comes_last(self.con, entry.edition, self.decisions)
        ledger.write(self.con, entry)
        if last:
            in_force.put_last(self.con, SALE, {"sale": SALE}, entry, self.decisions)
            assert not self.refresh()
        else:
            self.refresh()
        return number

    def decide(self, kind: str, number: int) -> None:
        self.decisions.add(kind, Edition("", f"{number}.csv", str(number)))
        self.refresh()

    def refresh(self) -> bool:
        return in_force.refresh(self.con, BAR, {"sale": SALE}, self.decisions)

    def in_force(self) -> Counter[Line]:
        counting = exports.counting(self.con, SALE)
        rows = self.con.execute(f"SELECT sold_at, venue, till_item, CAST(quantity AS INT), line_id FROM ({counting})")
        return Counter(Line(*row) for row in rows.fetchall())


@pytest.fixture(scope="module")
def kept() -> Iterator[Store]:
    store = Store()
    yield store
    store.con.close()


@pytest.fixture
def store(kept: Store) -> Store:
    kept.empty()
    return kept


def taken_in(store: Store, files: Iterable[list[Line]]) -> Counter[Line]:
    store.empty()
    for lines in files:
        store.land(lines)
    return store.in_force()


# Seasons and exports -------------------------------------------------------------------------------------

MOMENTS = [MONDAY + timedelta(days=day, hours=hour) for day in range(4) for hour in (5, 21, 21.5, 23.5, 24, 25, 28.5)]
VENUES = ("Bar", "Terrace")
SOLD = st.tuples(st.sampled_from(MOMENTS), st.sampled_from(VENUES), st.sampled_from("fgh"))


DAYS = st.sampled_from([(MONDAY + timedelta(days=day)).date() for day in range(4)])
OPEN_DAILY = [
    Line(moment, venue, "f") for moment in (*MOMENTS[::7], *MOMENTS[2::7], *MOMENTS[6::7]) for venue in VENUES
]


@st.composite
def seasons(draw: st.DrawFn, identities: bool | None = None) -> list[Line]:
    """Nights across midnight, with equal lines at one moment; with the till's identities, without, or with some."""
    sold = sorted(draw(st.lists(SOLD, min_size=1, max_size=40)))
    every = draw(st.sampled_from([0, 1, 3])) if identities is None else int(identities)
    return [Line(*what, line_id=f"L{n}" if every and n % every == 0 else None) for n, what in enumerate(sold)]


@st.composite
def cut_up(draw: st.DrawFn, season: list[Line]) -> list[list[Line]]:
    """Exports from a moment to a moment, together the season: overlapping, sharing a moment, or just touching."""
    around = [MOMENTS[0], *sorted(draw(st.sets(st.sampled_from(MOMENTS), max_size=4))), MOMENTS[-1] + DAY_STARTS]
    files = []
    for begins, ends in pairwise(around):
        before, after = (timedelta(hours=draw(st.sampled_from([0, 0, 0, 1, 2, 3, 24, 30]))) for _ in "ba")
        with_last = draw(st.booleans())
        first, last = begins - before, ends + after
        files.append(
            [x for x in season if first <= x.sold_at and (x.sold_at < last or (with_last and x.sold_at == last))]
        )
    return draw(st.permutations([lines for lines in files if lines]))


@OFTEN
@given(data=st.data(), season=seasons())
def test_any_exports_in_any_order_give_the_season_once(store: Store, data: st.DataObject, season: list[Line]) -> None:
    assert taken_in(store, data.draw(cut_up(season))) == Counter(season)


@OFTEN
@given(data=st.data(), season=seasons(identities=False))
def test_exports_cut_amid_equal_lines_lose_and_double_none(
    store: Store, data: st.DataObject, season: list[Line]
) -> None:
    """Cut by count and not by time: what one lacks of a moment, another has."""
    season = [replace(line, venue="Bar") for line in season]
    places = st.lists(st.integers(0, len(season)), min_size=2, max_size=2).map(sorted)
    ranges = data.draw(st.lists(places, max_size=3))
    parts = [season[first:last] for first, last in ranges]
    files = data.draw(st.permutations(parts + data.draw(cut_up(season))))
    assert taken_in(store, files) == Counter(season)


@OFTEN
@given(data=st.data(), season=seasons(identities=False))
def test_a_late_void_in_a_newer_export_of_whole_days_changes_its_day(
    store: Store, data: st.DataObject, season: list[Line]
) -> None:
    season = sorted(season + OPEN_DAILY, key=lambda x: (x.sold_at, x.venue, x.item))
    first, last = sorted(data.draw(st.tuples(DAYS, DAYS)))
    newer = [x for x in season if first <= x.day <= last]
    gone = data.draw(st.sampled_from([x for x in newer if newer[0].sold_at < x.sold_at < newer[-1].sold_at]))
    instead = data.draw(st.sampled_from([[], [replace(gone, quantity=-1)], [gone, replace(gone, quantity=-1)]]))
    older = data.draw(cut_up(season))
    changed = Counter(season) - Counter([gone]) + Counter(instead)
    newer.remove(gone)
    assert taken_in(store, [*older, newer + instead]) == changed


@OFTEN
@given(data=st.data(), season=seasons())
def test_an_undone_export_was_never_there_and_redone_it_is_there_again(
    store: Store, data: st.DataObject, season: list[Line]
) -> None:
    files = data.draw(cut_up(season))
    gone = data.draw(st.integers(1, len(files)))
    without = taken_in(store, files[: gone - 1] + files[gone:])
    whole = taken_in(store, files)
    store.decide("undone", gone)
    assert store.in_force() == without
    store.decide("redone", gone)
    assert store.in_force() == whole == Counter(season)


# Against a naive model -----------------------------------------------------------------------------------


def gives_way(line: Line, before: list[Line], new: list[Line], old: list[Line]) -> bool:
    """Whether the new file replaces a line of the old one; `before`: those that stand before it there."""
    before, new, old = ([x for x in file if x.venue == line.venue] for file in (before, new, old))
    if line.line_id and any(x.line_id == line.line_id for x in new):
        return True
    if not new:
        return False
    begins, ends = min(x.sold_at for x in new), max(x.sold_at for x in new)
    day = [x for x in new if x.day == line.day]
    if begins < line.sold_at < ends:
        return bool(day) and not (line.line_id and all(x.line_id for x in day))
    by_name = any(x.line_id for x in new) and any(x.line_id for x in old)
    if line.sold_at not in (begins, ends) or (by_name and line.line_id):
        return False
    # Cut amid lines of a moment: one for one, those without an identity first.
    before = [x for x in before if not x.line_id] if not line.line_id else [*(x for x in old if not x.line_id), *before]
    if by_name:
        before, new = ([x for x in file if not x.line_id] for file in (before, new))
    earlier = {id(x): x for x in before}.values()
    return [nameless(x) for x in earlier].count(nameless(line)) < [nameless(x) for x in new].count(nameless(line))


def nameless(line: Line) -> Line:
    return replace(line, line_id=None)


def expected(files: list[list[Line]]) -> Counter[Line]:
    """A line is in force unless a later file replaces it."""
    found: Counter[Line] = Counter()
    for place, old in enumerate(files):
        newer = files[place + 1 :]
        found.update(x for n, x in enumerate(old) if not any(gives_way(x, old[:n], new, old) for new in newer))
    return found


ANY_FILE = st.lists(
    st.builds(
        Line,
        st.sampled_from(MOMENTS[:14]),
        st.sampled_from(VENUES),
        st.sampled_from("fg"),
        line_id=st.sampled_from([None, None, None, "1", "2", "3"]),
    ),
    min_size=1,
    max_size=8,
    unique_by=lambda x: (x.venue, x.line_id or object()),
)


@OFTEN
@given(files=st.lists(ANY_FILE, min_size=2, max_size=4), data=st.data())
def test_files_that_contradict_each_other_equal_the_naive_model(
    store: Store, files: list[list[Line]], data: st.DataObject
) -> None:
    assert taken_in(store, files) == expected(files)
    gone = data.draw(st.integers(1, len(files)))
    store.decide("undone", gone)
    assert store.in_force() == expected(files[: gone - 1] + files[gone:])


# Thousands of sequences, each at a venue of its own -----------------------------------------------------------

SEQUENCES = 3000


def cuts(rng: random.Random, season: list[Line]) -> list[list[Line]]:
    """Up to four exports cut at any place: whole ones, single lines, single moments, and none at all."""
    places = range(len(season) + 1)
    found = []
    for _ in range(rng.randint(1, 4)):
        first, last = sorted((rng.choice(places), rng.choice(places)))
        kind = rng.randrange(4)
        if kind == 0:
            first, last = 0, len(season)
        elif kind == 1:
            last = min(first + 1, len(season))
        found.append(season[first:last])
    return found


def seasons_by_venue(rng: random.Random, *, alike: bool, changing: bool) -> list[list[list[Line]]]:
    """Venue by venue its exports in order; `alike`: several lines may be equal; `changing`: sales are corrected."""
    found = []
    for venue in range(SEQUENCES):
        moments = sorted(rng.choices(MOMENTS[:8], k=rng.randint(1, 8)))
        season = [Line(at, f"v{venue}", "f" if alike else f"f{n}") for n, at in enumerate(moments)]
        files = cuts(rng, season)
        if changing:
            files = [
                [replace(x, quantity=rng.choice([1, 1, 2])) for x in lines if rng.random() < 0.9] for lines in files
            ]
        rng.shuffle(files)
        found.append(files)
    return found


def by_venue(found: Counter[Line]) -> dict[str, Counter[Line]]:
    parts: dict[str, Counter[Line]] = {}
    for line, count in found.items():
        parts.setdefault(line.venue, Counter())[line] = count
    return parts


def landed(store: Store, venues: list[list[list[Line]]]) -> dict[str, Counter[Line]]:
    files = [[x for files in venues if place < len(files) for x in files[place]] for place in range(4)]
    return by_venue(taken_in(store, [lines for lines in files if lines]))


def covers_whole(file: list[Line], line: Line) -> bool:
    """Whether a file tells all that was sold at a line's moment: it goes on before and after, and knows that day."""
    moments = [x.sold_at for x in file]
    return bool(file) and min(moments) < line.sold_at < max(moments) and any(x.day == line.day for x in file)


@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize("changing", [True, False])
def test_no_line_is_lost_unless_a_later_file_covers_its_moment_whole(store: Store, alike: bool, changing: bool) -> None:
    venues = seasons_by_venue(random.Random(11), alike=alike, changing=changing)
    found = landed(store, venues)
    for number, files in enumerate(venues):
        here = found.get(f"v{number}", Counter())
        for place, file in enumerate(files):
            told = Counter(x for x in file if not any(covers_whole(later, x) for later in files[place + 1 :]))
            assert told <= here, files
        if not changing and not alike:  # and none counts twice
            assert here == Counter({x: 1 for file in files for x in file}), files


def test_they_equal_the_naive_model_too(store: Store) -> None:
    venues = seasons_by_venue(random.Random(12), alike=True, changing=True)
    found = landed(store, venues)
    assert all(found.get(f"v{number}", Counter()) == expected(files) for number, files in enumerate(venues))


# By hand -------------------------------------------------------------------------------------------------


def at(hour: float, item: str = "f", day: int = 0) -> Line:
    return Line(MONDAY + timedelta(days=day, hours=hour), "Bar", item)


def test_an_export_that_begins_in_mid_evening_leaves_the_evening_before_it_alone(store: Store) -> None:
    friday = [at(h) for h in (19, 20, 21.5, 23)]
    newer = [at(21.5), at(23), at(25), at(20, day=1)]
    assert taken_in(store, [friday, newer]) == Counter([*friday, at(25), at(20, day=1)])


def test_an_older_part_that_comes_late_adds_what_it_alone_has(store: Store) -> None:
    later, first = [at(21.5), at(23)], [at(19), at(20), at(21.5)]
    assert taken_in(store, [later, first]) == Counter([at(19), at(20), at(21.5), at(23)])


def test_a_line_corrected_at_the_very_end_counts_beside_the_wrong_one(store: Store) -> None:
    """It may have been cut amid that moment: nobody can tell."""
    wrong = [at(19), at(20), at(23, "wrong")]
    assert taken_in(store, [wrong, [*wrong[:2], at(23, "right")]]) == Counter([*wrong, at(23, "right")])


def test_a_new_edition_of_the_same_file_that_reaches_as_far_replaces_its_ends_too(store: Store) -> None:
    wrong = [at(19), at(20), at(23, "wrong")]
    store.land(wrong, "today.csv")
    store.land([*wrong[:2], at(23, "right")], "today.csv")
    assert store.in_force() == Counter([*wrong[:2], at(23, "right")])
    store.land([at(20, "other"), at(23, "right")], "today.csv")  # reaches less far
    assert store.in_force() == Counter([*wrong[:2], at(20, "other"), at(23, "right")])


def test_what_gave_way_to_an_edition_counts_again_once_another_says_it_no_more(store: Store) -> None:
    store.land([at(19), at(20)], "week.csv")
    store.land([at(20), at(21, "wrong")], "today.csv")
    store.land([at(20, "other"), at(21, "right")], "today.csv")
    assert store.in_force() == Counter([at(19), at(20), at(20, "other"), at(21, "right")])


@pytest.mark.parametrize("whole_first", [True, False])
def test_a_check_each_in_the_same_minute_counts_twice(store: Store, whole_first: bool) -> None:
    evening = [at(19), at(20, "f"), at(20, "g"), at(21)]
    files = [[evening[1]], [evening[2]]]
    files = [evening, *files] if whole_first else files
    assert taken_in(store, files) == Counter(evening if whole_first else evening[1:3])


def test_an_evening_changed_in_the_middle_keeps_what_the_newer_file_does_not_reach(store: Store) -> None:
    older = [at(h) for h in (19, 21, 22, 23)]
    newer = [at(21), at(22, "changed"), at(23), at(24)]
    assert taken_in(store, [older, newer]) == Counter([at(19), *newer])


def test_a_tail_of_one_moment_is_cut_amid_it_where_the_part_before_shows_more(store: Store) -> None:
    evening = [at(19), at(20), at(23), at(23, "g")]
    assert taken_in(store, [evening[:3], evening[3:]]) == Counter(evening)
    assert taken_in(store, [evening[3:], evening[:3]]) == Counter(evening)


def test_a_line_counts_once_where_only_one_of_two_exports_gives_identities(store: Store) -> None:
    evening = [at(19), at(20), at(20), at(23)]
    named = [replace(line, line_id=f"L{n}") for n, line in enumerate(evening)]
    for files in ([evening[:3], named[1:]], [named[1:], evening[:3]], [named[:3], evening[1:]]):
        assert Counter(map(nameless, taken_in(store, files).elements())) == Counter(evening)


NIGHT = [
    # Every ten minutes from midnight to five in winter time, by the clock on the wall.
    Line(PUT_BACK + timedelta(minutes=10 * n - (60 if n >= 6 else 0)), "Bar", f"f{n}")
    for n in range(-12, 24)
]
IN_THE_DOUBLED_HOUR = range(13, 24)
"""Places in the night with a line of that hour before them and after them."""


@pytest.mark.parametrize("cut", IN_THE_DOUBLED_HOUR)
@pytest.mark.parametrize("overlap", [0, 1, 5])
def test_exports_cut_in_the_hour_that_the_clock_tells_twice_lose_and_double_no_line(
    store: Store, cut: int, overlap: int
) -> None:
    parts = [NIGHT[:cut], NIGHT[cut - overlap :]]
    assert taken_in(store, parts) == taken_in(store, parts[::-1]) == Counter(NIGHT)


def test_a_later_export_of_the_whole_night_replaces_that_hour_too(store: Store) -> None:
    newer = [*NIGHT[:14], *NIGHT[15:]]
    assert taken_in(store, [NIGHT, newer]) == Counter(newer)
    assert taken_in(store, [NIGHT[:18], NIGHT[18:], newer]) == Counter(newer)
