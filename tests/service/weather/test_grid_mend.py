"""Stored weather that is harmed: what cannot be read is set aside, said, and asked for again."""

from __future__ import annotations

import shutil
from datetime import UTC, date, datetime, timedelta
from random import Random

import numpy as np
import pytest

from rootbound_service.weather import grid_chunks
from rootbound_service.weather.cells import Grid
from rootbound_service.weather.grid_files import FolderFiles
from rootbound_service.weather.grid_store import GridStore, Span
from rootbound_service.weather.quality.flags import Flag
from service.weather.grid_rig import AMES, END, NIGHT, NORTH, START, block

NOW = datetime(2026, 6, 7, 9, 30, tzinfo=UTC)
GRID = Grid("made_up", -90.0, AMES.lon - 138 * 0.625, 0.5, 0.625, 361, 576, wraps=True)
ASIDE = "made_up.spoiled-20260607T093000Z"
PAST = date(2024, 3, 1)
CELLS = (AMES, NORTH)
DAY_CHUNKS = {day: (day - date(1981, 1, 1)).days // 384 for day in (START, PAST)}
NEW, OLD = (f"0/0/{DAY_CHUNKS[day]}" for day in (START, PAST))


def flip(data, rng):
    at = rng.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << rng.randrange(7)]) + data[at + 1 :]


def head(data, rng):
    return bytes(b ^ 0x55 for b in data[:12]) + data[12:]


def cut(data, rng):
    return data[: rng.randrange(1, len(data))]


HARMS = {
    "a bit flipped": flip,
    "head": head,
    "cut short": cut,
    "emptied": lambda *_: b"",
    "gone": None,
}
TABLES = ("value", "flag", "status", "issued", "seen")
FACTS = ("lat", "lon", "elevation_m", "asked_from", "cell")
LINES = ("quantity", "units", "given", "day")


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole") / "made_up.zarr"
    store = GridStore(path, "made_up")
    high = {"elevation_m": np.array([300.0, 310.0])}
    now, past = block(cells=CELLS, **high), block(5.0, PAST, cells=CELLS, **high)
    marks = np.zeros(now.values.shape, np.uint16)
    marks[0, 0, 1] = Flag.LIMIT
    store.write(now, marks, NIGHT)
    store.write(past, None, NIGHT)
    return path


@pytest.fixture
def path(whole, tmp_path):
    shutil.copytree(whole, tmp_path / "made_up.zarr")
    return tmp_path / "made_up.zarr"


def harm(path, how, seed=0):
    data, change = path.read_bytes(), HARMS[how]
    if change is None:
        path.unlink()
    else:
        path.write_bytes(change(data, Random(seed)))


def opened(path):
    return GridStore(path, "made_up")


def write_again(path):
    """What tonight's pull and the past years bring."""
    high = {"elevation_m": np.array([300.0, 310.0])}
    now, past = block(cells=CELLS, **high), block(5.0, PAST, cells=CELLS, **high)
    marks = np.zeros(now.values.shape, np.uint16)
    marks[0, 0, 1] = Flag.LIMIT
    opened(path).write(now, marks, NIGHT + timedelta(days=1))
    opened(path).write(past, None, NIGHT + timedelta(days=1))


def same_as(path, whole):
    for first, last in ((START, END), (PAST, PAST + timedelta(days=4))):
        own, wanted = (opened(p).read(CELLS, first, last) for p in (path, whole))
        assert np.array_equal(own.values, wanted.values, equal_nan=True)
        assert np.array_equal(own.flags, wanted.flags)
        assert np.array_equal(own.status, wanted.status)
    assert opened(path).spans(CELLS) == opened(whole).spans(CELLS)
    assert opened(path).elevations(CELLS).tolist() == [300.0, 310.0]
    assert sorted(opened(path).cells()) == sorted(opened(whole).cells())


def test_a_sound_store_is_left_as_it_is(path):
    before = {p: p.read_bytes() for p in path.rglob("*") if p.is_file()}

    assert not opened(path).mend(GRID, NOW)

    assert {p: p.read_bytes() for p in path.rglob("*") if p.is_file()} == before


def test_no_store_is_mended_into_none(tmp_path):
    assert not opened(tmp_path / "made_up.zarr").mend(GRID, NOW)
    assert list(tmp_path.glob("*.zarr")) == []


@pytest.mark.parametrize(
    ("how", "table", "where"),
    [(how, table, NEW) for how in HARMS for table in ("value", "flag")]
    + [("a bit flipped", table, OLD) for table in TABLES]
    + [("gone", table, OLD) for table in TABLES],
)
def test_a_harmed_chunk_is_set_aside_and_its_cells_are_asked_again(path, whole, how, table, where):
    spoiled = path / table / "c" / where
    harm(spoiled, how)

    found = opened(path).mend(GRID, NOW)

    assert found.spoiled == (f"{table}/c/{where}",)
    assert sorted(found.cells) == [AMES.key, NORTH.key]
    assert found.again
    assert AMES.key in found.sentence("Made up")
    if how != "gone":
        assert found.aside == ASIDE
        assert (path.parent / ASIDE / table / "c" / where).is_file()
    for span in opened(path).spans(CELLS):
        assert span.asked_from is None if where == NEW else PAST < span.asked_from <= START
    assert not opened(path).mend(GRID, NOW + timedelta(days=1))
    write_again(path)
    same_as(path, whole)


@pytest.mark.parametrize("name", ["", *TABLES, *FACTS, *LINES])
def test_a_harmed_description_is_written_anew_and_no_day_is_lost(path, whole, name):
    spoiled = path / name / "zarr.json"
    before = spoiled.read_bytes()
    for seed, how in enumerate([*HARMS, "a bit flipped", "a bit flipped", "cut short"]):
        spoiled.write_bytes(before)
        harm(spoiled, how, seed)

        found = opened(path).mend(GRID, NOW)

        assert not found.cells
        assert found.spoiled or how == "a bit flipped"  # in a title, say
        assert opened(path).spans(CELLS) == opened(whole).spans(CELLS)
    same_as(path, whole)


@pytest.mark.parametrize(
    ("how", "name"),
    [(how, name) for how in HARMS for name in ("lat", "cell")]
    + [(how, name) for how in ("a bit flipped", "gone") for name in ("lon", *LINES)],
)
def test_a_harmed_fact_that_the_others_tell_is_put_right(path, whole, how, name):
    harm(path / name / "c" / "0", how)

    found = opened(path).mend(GRID, NOW)

    assert found.spoiled or name == "given"
    if name == "given":  # comes with the next answer
        write_again(path)
    same_as(path, whole)
    assert not opened(path).mend(GRID, NOW + timedelta(days=1))


@pytest.mark.parametrize("how", HARMS)
def test_first_days_asked_for_that_are_lost_are_asked_for_again(path, whole, how):
    harm(path / "asked_from" / "c" / "0", how)

    found = opened(path).mend(GRID, NOW)

    assert found.spoiled == ("asked_from/c/0",)
    assert sorted(found.cells) == [AMES.key, NORTH.key]
    assert found.again
    assert opened(path).spans(CELLS) == [Span(None, END)] * 2
    assert not opened(path).mend(GRID, NOW + timedelta(days=1))
    write_again(path)
    same_as(path, whole)


@pytest.mark.parametrize("how", HARMS)
def test_heights_that_are_lost_come_with_the_next_answer(path, whole, how):
    harm(path / "elevation_m" / "c" / "0", how)

    found = opened(path).mend(GRID, NOW)

    assert bool(found.spoiled) == (how != "gone")  # a source may tell no height at all
    write_again(path)
    same_as(path, whole)


def test_keys_and_places_that_are_both_lost_leave_a_store_that_goes_on(path, whole):
    for name in ("cell", "lat"):
        harm(path / name / "c" / "0", "emptied")

    found = opened(path).mend(GRID, NOW)

    assert set(found.spoiled) == {"cell/c/0", "lat/c/0"}
    assert opened(path).cells() == ()
    write_again(path)
    same_as(path, whole)


def test_a_store_of_which_no_description_can_be_read_is_set_aside_whole(path, whole):
    for one in path.rglob("zarr.json"):
        one.write_bytes(b"\x00\xff")

    found = opened(path).mend(GRID, NOW)

    assert found.anew
    assert "begins anew" in found.sentence("Made up")
    assert (path.parent / ASIDE / "made_up.zarr" / "value").is_dir()
    assert opened(path).spans(CELLS) == [Span(None, None)] * 2
    write_again(path)
    same_as(path, whole)


def test_three_that_were_set_aside_are_kept(path):
    for day in range(5):
        harm(path / "value" / "c" / NEW, "emptied")
        opened(path).mend(GRID, NOW + timedelta(days=day))
        write_again(path)

    left = sorted(p.name[-16:-8] for p in path.parent.glob("*spoiled*"))
    assert left == ["20260609", "20260610", "20260611"]


def test_a_cell_of_another_chunk_is_not_touched(path):
    far = tuple(GRID.cell(100, column) for column in range(300))
    opened(path).write(block(3.0, cells=far), None, NIGHT)
    harm(path / "value" / "c" / NEW, "cut short")

    found = opened(path).mend(GRID, NOW)

    assert len(found.cells) == 256
    last = far[-1]
    assert last.key not in found.cells
    assert opened(path).spans((last,)) == [Span(START, END)]
    assert np.isfinite(opened(path).read((last,), START, END).values).all()


@pytest.mark.parametrize("how", ["a bit flipped", "cut short", "emptied"])
def test_a_file_of_the_log_that_cannot_be_read_is_set_aside(path, how):
    opened(path).write(block(first=25.0, cells=CELLS), None, NIGHT + timedelta(days=1))
    opened(path).write(block(first=26.0, cells=CELLS), None, NIGHT + timedelta(days=2))
    first = min((path.parent / "made_up.revisions").iterdir())
    harm(first, how)

    found = opened(path).mend(GRID, NOW)

    assert found.spoiled == (f"log/{first.name}",)
    assert "replaced" in found.sentence("Made up")
    assert (path.parent / ASIDE / "log" / first.name).is_file()
    as_of = opened(path).read_as_of(CELLS, START, END, NIGHT + timedelta(days=1))
    assert np.array_equal(as_of.values, block(first=25.0, cells=CELLS).values)
    assert not opened(path).mend(GRID, NOW + timedelta(days=1))


def test_what_a_reader_could_not_read_is_looked_for_among_very_many(path, monkeypatch):
    monkeypatch.setattr(FolderFiles, "few", 0)
    monkeypatch.setattr(grid_chunks, "TURNS", 10_000_000)
    long_ago = date(2015, 3, 1)
    opened(path).write(block(5.0, long_ago, cells=CELLS), None, NIGHT)
    chunk = f"value/c/0/0/{(long_ago - date(1981, 1, 1)).days // 384}"
    harm(path / chunk, "emptied")
    assert not opened(path).mend(GRID, NOW)

    with pytest.raises(ValueError, match=r".*"):
        opened(path).read(CELLS, long_ago, END)

    assert opened(path).mend(GRID, NOW).spoiled == (chunk,)
    assert not opened(path).mend(GRID, NOW)
