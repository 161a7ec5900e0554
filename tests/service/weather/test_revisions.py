"""Every value that a source changes is logged, said in words, and can be undone to a past day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootbound_service.errors import ServiceError
from rootbound_service.weather import grid_write
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITIES, QUANTITY_NAMES, Block, Status
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.grid_then import GridThen
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.revisions import RevisionLog, Revisions
from service.weather.place_rig import opened

AMES, NORTH = Cell("gridmet", 177, 748, 42.0, -93.75), Cell("gridmet", 176, 748, 42.04, -93.75)
START, END = date(2026, 7, 1), date(2026, 7, 5)
NAN = float("nan")


@pytest.fixture
def store(place):
    return opened(place, "gridmet")


@pytest.fixture
def in_folder(tmp_path):
    return GridStore(tmp_path / "gridmet.zarr", "gridmet")


def block(cells=(AMES,), start=START, days=5, status=Status.PROVISIONAL, issued=None):
    values = np.full((6, len(cells), days), 2.0)
    marks = np.full((6, days), status, np.uint8)
    return Block("gridmet", tuple(cells), start, QUANTITY_NAMES, values, marks, issued)


def july(day):
    return date(2026, 7, day)


def number(day):
    return (day - date(1981, 1, 1)).days


def test_a_revision_is_logged_with_all_that_it_replaced(store):
    first = block((NORTH, AMES))
    flags = np.zeros(first.values.shape, np.uint16)
    flags[2, 1, 4] = Flag.RAIN_OUTLIER
    store.write(first, flags, july(6))
    newer = block((NORTH, AMES), status=Status.FINAL, issued=datetime(2026, 7, 8, tzinfo=UTC))
    newer.values[2, 1, 4] = 14.1

    found = store.write(newer, None, july(9)).revisions

    assert list(found.cell) == [AMES.key]
    assert found.rows[0].tolist() == (
        0, 2, number(july(5)),
        2.0, number(july(6)), Status.PROVISIONAL, Flag.RAIN_OUTLIER,
        float(np.float32(14.1)), number(july(8)), number(july(9)),
    )  # fmt: skip
    assert list(found.change) == [12.1]
    again = store.revisions.of()
    assert again.keys == found.keys
    assert (again.rows == found.rows).all()


def test_the_largest_are_said_in_plain_words(store):
    store.write(block(), None, july(6))
    newer = block()
    newer.values[2, 0, 4] = 14.1
    newer.values[0, 0, 0] = 1.46
    newer.values[2, 0, 1] = 2.2
    found = store.write(newer, None, july(9)).revisions

    assert len(found) == 3
    assert found.sentences(2) == [
        "rain of 5 July 2026 at gridmet:177-748 from 2.0 to 14.1 mm",
        "highest temperature of 1 July 2026 at gridmet:177-748 from 2.0 to 1.46 degC",
    ]
    assert len(found.sentences()) == 3
    assert found.largest("rain_mm") == 12.1
    assert found.largest("tmax_c") == 0.54
    assert found.largest("wind_m_s") == 0.0


def test_the_log_is_read_by_cell_and_since_a_day(store):
    for day, amount in ((6, 0.0), (8, 1.0), (10, 3.0)):
        cells = (AMES, NORTH) if day < 10 else (NORTH,)
        one = block(cells)
        one.values[:] += amount
        store.write(one, None, july(day))

    log = store.revisions
    assert len(log.of()) == 90
    assert len(log.of(since=july(8))) == 90
    assert len(log.of(since=july(9))) == 30
    assert len(log.of(since=july(11))) == 0
    assert set(log.of([AMES]).cell) == {AMES.key}
    assert len(log.of([AMES.key])) == 30
    assert len(log.of([NORTH], since=july(9))) == 30
    assert len(log.of([])) == 0


def test_nothing_is_logged_where_nothing_changed(in_folder, tmp_path):
    in_folder.write(block(), None, july(6))
    in_folder.write(block(status=Status.FINAL), None, july(7))

    assert not (tmp_path / "gridmet.revisions").exists()
    assert len(in_folder.revisions.of()) == 0
    assert RevisionLog(tmp_path / "none").append(Revisions(), START) is None


def test_a_file_of_the_log_is_never_written_again(in_folder, tmp_path):
    for day, amount in ((6, 0.0), (8, 1.0), (10, 3.0)):
        one = block()
        one.values[:] += amount
        in_folder.write(one, None, july(day))
        files = {p.name: p.read_bytes() for p in (tmp_path / "gridmet.revisions").glob("*")}
        if day == 8:
            kept = files

    assert sorted(files) == ["00000001-20260708.npz", "00000002-20260710.npz"]
    assert files["00000001-20260708.npz"] == kept["00000001-20260708.npz"]


def test_a_file_that_cannot_be_read_is_named(in_folder, tmp_path):
    in_folder.write(block(), None, july(6))
    newer = block()
    newer.values[:] += 1.0
    in_folder.write(newer, None, july(7))
    (tmp_path / "gridmet.revisions" / "00000001-20260707.npz").write_bytes(b"half a file")

    with pytest.raises(ServiceError, match=r"00000001-20260707\.npz: .*restore it"):
        in_folder.revisions.of()


def test_a_past_day_is_seen_as_it_was(store):
    first = block()
    first.values[:, 0, 3:] = NAN
    flags = np.zeros(first.values.shape, np.uint16)
    flags[1, 0, 0] = Flag.LIMIT
    store.write(first, flags, july(4))
    second = block(status=Status.FINAL)
    second.values[1, 0, 0] = 5.0
    store.write(second, None, july(6))
    third = block()
    third.values[1, 0, 0] = 6.0
    store.write(third, None, july(8))

    before, then, between, now = (
        store.read_as_of((AMES, NORTH), START, END, july(day)) for day in (3, 4, 7, 8)
    )

    assert np.isnan(before.values).all()
    assert not before.flags.any()
    assert (before.seen == -1).all()
    assert then.values[1, 0].tolist()[:3] == [2.0, 2.0, 2.0]
    assert np.isnan(then.values[:, 0, 3:]).all()
    assert (then.flags[1, 0, 0], then.status[1, 0, 0]) == (Flag.LIMIT, Status.PROVISIONAL)
    assert np.isnan(then.usable()[1, 0, 0])
    assert then.issued[1, 0, 0] == number(july(4))
    assert (between.values[1, 0, 0], between.status[1, 0, 0]) == (5.0, Status.FINAL)
    assert between.issued[1, 0, 0] == number(july(6))
    assert (now.values[:, :1] == third.values).all()
    for one in (before, then, between, now):
        assert np.isnan(one.values[:, 1]).all()


def test_a_store_then_reads_as_it_was_whatever_quantities_are_asked_for(store):
    first, second = block(), block(status=Status.FINAL)
    store.write(first, None, july(6))
    second.values[2, 0, 1] = 9.0
    store.write(second, None, july(8))

    then = GridThen(store, july(7)).read((AMES,), START, END, ("tmin_c", "rain_mm"))
    now = store.read((AMES,), START, END, ("tmin_c", "rain_mm"))

    assert then.values[1, 0].tolist() == [2.0] * 5
    assert now.values[1, 0].tolist() == [2.0, 9.0, 2.0, 2.0, 2.0]


def test_a_large_answer_in_pieces_changes_the_same(new_place, monkeypatch):
    first, newer = block((AMES, NORTH), days=400), block((AMES, NORTH), days=400)
    newer.values[:, :, ::7] += 1.0
    found = []
    for most in (10**7, 6 * 150):
        monkeypatch.setattr(grid_write, "MOST_AT_ONCE", most)
        store = opened(new_place(), "gridmet")
        new = store.write(first, None, july(6)).new
        done = store.write(newer, None, july(7))
        days = store.read((AMES, NORTH), START, first.end)
        past = store.read_as_of((AMES, NORTH), START, first.end, july(6))
        assert (days.values == newer.values).all()
        assert (past.values == first.values).all()
        found.append((new, done.revised, sorted(done.revisions.cell)))

    assert found[0] == found[1]


VALUE = st.one_of(st.just(NAN), st.integers(-300, 300).map(lambda n: n / 100))
WRITE = st.tuples(
    st.lists(st.integers(0, 3), min_size=1, max_size=3, unique=True),  # cells
    st.integers(0, 5),  # first day
    st.lists(st.integers(0, 5), min_size=1, max_size=3, unique=True),  # quantities
    st.lists(VALUE, min_size=36, max_size=36),
    st.sampled_from([0, int(Flag.LIMIT), int(Flag.STEP)]),
    st.sampled_from([Status.PROVISIONAL, Status.FINAL]),
    st.one_of(st.none(), st.integers(0, 4)),  # how old the issue is
)


@settings(max_examples=20, deadline=None)
@given(st.lists(WRITE, min_size=1, max_size=6))
def test_any_sequence_of_answers_leaves_what_a_plain_table_has(new_place, writes):
    place = new_place()
    store = opened(place, "gridmet")
    cells = [Cell("gridmet", 1, i, 40.0, -90.0) for i in range(4)]
    begin = date(2023, 12, 28)  # over the end of a year
    end = begin + timedelta(days=8)
    table: dict[tuple[int, int, int], tuple] = {}
    known_after = []
    for turn, (which, first, places, numbers, flag, status, age) in enumerate(writes):
        night = july(1) + timedelta(days=turn)
        issue = night if age is None else night - timedelta(days=age)
        values = np.array(numbers[: len(places) * len(which) * 3]).reshape(
            len(places), len(which), 3
        )
        given_block = Block(
            "gridmet",
            tuple(cells[i] for i in which),
            begin + timedelta(days=first),
            tuple(QUANTITY_NAMES[p] for p in places),
            values,
            np.full((len(places), 3), status, np.uint8),
            None if age is None else datetime(issue.year, issue.month, issue.day, tzinfo=UTC),
        )
        done = store.write(given_block, np.full(values.shape, flag, np.uint16), night)
        new = revised = settled = 0
        for (q, c, d), value in np.ndenumerate(values):
            spot = (places[q], which[c], first + d)
            if np.isnan(value):
                continue
            if spot not in table:
                new += 1
                table[spot] = (value, flag, status, number(issue), number(night))
                continue
            old, _, old_status, old_issue, seen = table[spot]
            if number(issue) < old_issue:
                continue
            if abs(round(value - old, 6)) > QUANTITIES[places[q]].rounding:
                revised += 1
                table[spot] = (value, flag, status, number(issue), seen)
            else:
                settled += status > old_status
                table[spot] = (old, flag, max(status, old_status), old_issue, seen)
        assert (done.new, done.revised, done.settled) == (new, revised, settled)
        known_after.append((night, {spot: row[0] for spot, row in table.items()}))

    days = opened(place, "gridmet").read(cells, begin, end)
    for spot in np.ndindex(days.values.shape):
        value, flag, status, issue, seen = table.get(spot, (NAN, 0, 0, -1, -1))
        stored = (days.flags[spot], days.status[spot], days.issued[spot], days.seen[spot])
        assert np.array_equal(days.values[spot], value, equal_nan=True)
        assert stored == (flag, status, issue, seen)
    for night, known in known_after:
        past = store.read_as_of(cells, begin, end, night)
        for spot in np.ndindex(past.values.shape):
            assert np.array_equal(past.values[spot], known.get(spot, NAN), equal_nan=True)
