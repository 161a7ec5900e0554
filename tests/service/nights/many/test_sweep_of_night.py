"""A night's chunks: the same parts wherever they are computed, and only those that are needed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from rootbound_service.nights.many import run, slices
from rootbound_service.nights.many.columns import from_columns, to_columns
from rootbound_service.nights.many.job import NightJob, make_folders
from rootbound_service.nights.many.run import Plant, run_many
from rootbound_service.nights.many.weighed import Rules
from rootbound_service.nights.many.whole import from_bytes
from rootbound_service.records import DigRecord
from rootbound_service.store.runs import last_run
from rootbound_service.sweep.cluster import Cluster
from rootbound_service.sweep.executors import InProcess, Processes
from rootbound_service.sweep.run import parts_of, sweep
from rootbound_service.wiring.plant import plant_of
from service.nights.many.dying import sky_that_dies
from service.nights.rig import DRY, NORTH, SOUTH, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 8)
NAMES = tuple(f"Field {k}" for k in range(10))


class Counting:
    """Computes here, and remembers which chunks."""

    def __init__(self) -> None:
        self.done: list[int] = []

    def run(self, work, numbers):
        for number in numbers:
            work(number)
            self.done.append(number)
            yield number


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory):
    """Ten fields in two cells, four to a chunk, with their weather."""
    with pytest.MonkeyPatch.context() as patch, a_rig(tmp_path_factory.mktemp("rig"), DRY) as made:
        patch.setattr(slices, "FIELDS", 4)
        made.enrol(
            *(
                a_field(name, (SOUTH, NORTH)[k % 2], digs=(DigRecord(date(YEAR, 5, 28), k % 4),))
                for k, name in enumerate(NAMES)
            )
        )
        made.bring(NIGHT)
        yield made


def swept(rig, folder: Path, executor, open_sky=None):
    """The parts of a night computed by somebody."""
    parts = rig.service.parts
    due = slices.due_fields(parts, NIGHT)
    make_folders(folder)
    sky = open_sky or plant_of(parts).open_sky
    job = NightJob(folder, due.chunks, "a night", Rules(NIGHT, 10, 2), sky)
    lay = partial(slices.lay_out, parts, due, NIGHT, troubles={}, folder=folder, pull=False)
    sweep(job, folder, executor, lambda: 0.0, needed=lambda number, _: bool(lay(number=number)))
    return list(parts_of(job, folder))


def assert_same(one, other) -> None:
    """Parts are the same to the bit; what is packed for the record by what it holds."""
    assert len(one) == len(other) == 3
    for mine, theirs in zip(one, other, strict=True):
        assert mine.keys() == theirs.keys()
        for name in mine.keys() - {"whole", "input"}:
            assert np.array_equal(mine[name], theirs[name], equal_nan=mine[name].dtype.kind == "f")
        a, b = from_bytes(mine), from_bytes(theirs)
        assert (a.rows, a.notes, a.pictures, a.pasts) == (b.rows, b.notes, b.pictures, b.pasts)


@pytest.fixture(scope="module")
def here(rig, tmp_path_factory: pytest.TempPathFactory):
    """Computed in this process."""
    return swept(rig, tmp_path_factory.mktemp("here"), InProcess())


def test_two_workers_of_a_cluster_leave_the_same_parts(rig, here, tmp_path):
    assert_same(swept(rig, tmp_path, Cluster(workers=2)), here)


def test_processes_leave_the_same_parts_though_one_is_killed_midway(rig, here, tmp_path):
    mark = tmp_path / "killed"
    dying = partial(sky_that_dies, mark, plant_of(rig.service.parts).open_sky)
    assert_same(swept(rig, tmp_path / "sweep", Processes(2), dying), here)
    assert mark.exists()
    assert any(from_bytes(part).notes for part in here)


def test_a_night_cut_off_goes_on_with_the_parts_whose_input_is_the_same(rig, monkeypatch):
    rig.at(NIGHT)
    parts, executor = rig.service.parts, Counting()
    own = replace(plant_of(parts), executor=executor)

    def cut_off(*given):
        raise RuntimeError(given[1].fingerprint)

    with monkeypatch.context() as patch:
        patch.setattr(run, "record_many", cut_off)
        for _ in range(2):
            with pytest.raises(RuntimeError):
                run_many(parts, NIGHT, lambda: own, pull=False)
    assert executor.done == [0, 1, 2]

    rig.dig(NAMES[0], DigRecord(NIGHT - timedelta(days=9), 3, plants=5))
    report = run_many(parts, NIGHT, lambda: own, pull=False)
    with rig.service.engine.connect() as conn:
        finished = last_run(conn, finished_only=True)

    assert sorted({*executor.done[3:]} & {0, 1, 2}) == [0]
    assert (report.fields_ok, report.fields_failed) == (10, 0)
    assert finished is not None
    assert finished.night == NIGHT
    assert {one.name for one in own.folder.iterdir()} <= {"job", "pasts"}


def test_another_sky_makes_every_part_anew(rig, monkeypatch):
    rig.at(NIGHT)
    parts, executor = rig.service.parts, Counting()
    monkeypatch.setattr(run, "record_many", lambda *_: None)
    for stamp in ("one", "another"):
        plant = Plant(executor, parts.settings.data_dir / "s", plant_of(parts).open_sky, stamp)
        run_many(parts, NIGHT, lambda plant=plant: plant, pull=False)
    assert executor.done == [0, 1, 2, 0, 1, 2]


def test_rows_come_back_from_columns_as_they_were(rig):
    rows = [row for name in NAMES for row in rig.rows(name)]
    rows += [replace(rows[0], rung=None, water_in_reach_mm=None, changed_on=None, detail={})]
    packed = to_columns(rows)
    assert from_columns(packed) == rows
    assert [row.detail for row in from_columns(packed)] == [dict(row.detail) for row in rows]
    assert from_columns(to_columns([])) == []
    assert all(
        np.array_equal(packed[k], to_columns(rows)[k], equal_nan=packed[k].dtype.kind == "f")
        for k in packed
    )
