"""Stored weather that is harmed: what cannot be read is set aside, said, and asked for again."""

from __future__ import annotations

import json
import shutil
from datetime import date, timedelta

import numpy as np
import pytest
import zarr

from rootbound_service.weather import grid_chunks
from rootbound_service.weather.grid_files import FolderFiles
from rootbound_service.weather.grid_store import GridStore, Span
from rootbound_service.weather.quality.flags import Flag
from service.weather.grid_rig import AMES, END, NIGHT, NORTH, START, block
from service.weather.mend_rig import (
    ASIDE,
    CELLS,
    FACTS,
    GRID,
    HARMS,
    LINES,
    NEW,
    NOW,
    OLD,
    PAST,
    TABLES,
    harm,
    opened,
    same_as,
    write_again,
)


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


@pytest.mark.parametrize(
    "grown",
    [("value",), ("value", "flag", "status"), (*TABLES, "lat", "lon"), (*TABLES, *FACTS[:4])],
)
def test_a_growth_that_was_cut_off_is_no_harm_and_nobody_is_told(path, whole, grown):
    for name in grown:
        array = zarr.open_array(path / name, mode="r+")
        shape = array.shape
        array.resize((300,) if len(shape) == 1 else (shape[0], 300, shape[2] + 365))

    assert not opened(path).mend(GRID, NOW)
    same_as(path, whole)


def test_a_length_that_no_other_array_has_is_put_right(path, whole):
    described = path / "seen" / "zarr.json"
    told = json.loads(described.read_text())
    told["shape"][1] = 9
    described.write_text(json.dumps(told))

    assert opened(path).mend(GRID, NOW).spoiled == ("seen/zarr.json",)
    same_as(path, whole)
