"""A writer that dies leaves old or new, never a mixture that is believed; the next one mends."""

from __future__ import annotations

import shutil
from datetime import date

import numpy as np
import pytest
import xarray as xr
import zarr

from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import QUANTITY_NAMES, Block, Status
from rootbound_service.weather.grid_store import GridStore, Span
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.revisions import RevisionLog

AMES, NORTH, OTHER = (Cell("made_up", row, 138, row / 2 - 90, -93.75) for row in (264, 265, 262))
START, END = date(2026, 6, 1), date(2026, 6, 5)
NIGHT, NEXT, LATE = date(2026, 6, 6), date(2026, 6, 7), date(2026, 6, 8)


class Killed(BaseException):
    """The process dies here."""


def block(first=20.0, start=START, cells=(AMES,)):
    values = np.empty((6, len(cells), 5))
    values[:] = first + np.arange(6)[:, None, None]
    marks = np.full((6, 5), Status.PROVISIONAL, np.uint8)
    return Block("made_up", tuple(cells), start, QUANTITY_NAMES, values, marks)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "made_up.zarr"


def opened(path):
    return GridStore(path, "made_up")


def die_after(writes, monkeypatch):
    """Let so many array writes pass, then die."""
    left = [writes]

    def patch(name):
        real = getattr(zarr.Array, name)

        def counted(self, *args, **kwargs):
            if left[0] == 0:
                raise Killed
            left[0] -= 1
            return real(self, *args, **kwargs)

        monkeypatch.setattr(zarr.Array, name, counted)

    patch("__setitem__")
    patch("resize")
    return left


def writes_of(path, monkeypatch, given, flags=None):
    """Count the array writes that an answer makes."""
    with monkeypatch.context() as patched:
        left = die_after(10_000, patched)
        opened(path).write(given, flags, NEXT)
    return 10_000 - left[0]


@pytest.mark.parametrize("writes", range(2))
def test_a_half_written_revision_is_old_or_new_and_the_next_answer_mends(path, monkeypatch, writes):
    opened(path).write(block(20.0), None, NIGHT)
    with monkeypatch.context() as patched:
        die_after(writes, patched)
        with pytest.raises(Killed):
            opened(path).write(block(10.0), None, NEXT)

    days = opened(path).read((AMES,), START, END)
    for i in range(6):
        assert set(days.values[i].ravel()) in ({10.0 + i}, {20.0 + i})

    opened(path).write(block(10.0), None, LATE)
    days = opened(path).read((AMES,), START, END)
    assert (days.values == block(10.0).values).all()
    assert set(days.issued.ravel()) == {(LATE - date(1981, 1, 1)).days}
    past = opened(path).read_as_of((AMES,), START, END, NIGHT)
    assert (past.values == block(20.0).values).all()


def test_nothing_is_replaced_that_the_log_does_not_have(path, monkeypatch):
    opened(path).write(block(20.0), None, NIGHT)

    def die(self, revisions, seen_on):
        raise Killed

    with monkeypatch.context() as patched:
        patched.setattr(RevisionLog, "append", die)
        with pytest.raises(Killed):
            opened(path).write(block(10.0), None, NEXT)

    assert (opened(path).read((AMES,), START, END).values == block(20.0).values).all()


def test_a_revision_takes_the_two_writes_tried_above(path, monkeypatch):
    opened(path).write(block(20.0), None, NIGHT)

    assert writes_of(path, monkeypatch, block(10.0)) == 2  # the issue, then the value


def test_a_half_appended_cell_is_not_there_and_the_next_pull_mends(tmp_path, monkeypatch):
    given = block(1.0, date(2027, 1, 1), (NORTH,))
    opened(tmp_path / "whole.zarr").write(block(), None, NIGHT)
    many = writes_of(tmp_path / "whole.zarr", monkeypatch, given)
    assert many > 15
    opened(tmp_path / "before.zarr").write(block(), None, NIGHT)

    for writes in range(many):
        path = tmp_path / f"{writes}.zarr"
        shutil.copytree(tmp_path / "before.zarr", path)
        with monkeypatch.context() as patched:
            die_after(writes, patched)
            with pytest.raises(Killed):
                opened(path).write(given, None, NEXT)

        assert opened(path).cells() == (AMES.key,)
        assert (opened(path).read((AMES,), START, END).values == block().values).all()

        # Another cell takes the row: nothing of the dead one's is left in it.
        opened(path).write(block(3.0, cells=(OTHER,)), None, NEXT)
        assert opened(path).cells() == (AMES.key, OTHER.key)
        left = opened(path).read((OTHER,), date(2027, 1, 1), date(2027, 1, 5))
        assert np.isnan(left.values).all()
        assert (left.seen == -1).all()
        assert opened(path).spans((OTHER,)) == [Span(START, END)]
        with xr.open_zarr(path, consolidated=False) as seen:
            assert seen.sizes["cell"] == 2


def test_a_store_that_goes_on_after_a_failure_mends_itself(path, monkeypatch):
    store = opened(path)
    store.write(block(), None, NIGHT)
    with monkeypatch.context() as patched:
        die_after(3, patched)
        with pytest.raises(Killed):
            store.write(block(1.0, date(2027, 1, 1), (NORTH,)), None, NEXT)

    store.write(block(2.0, cells=(OTHER,)), None, NEXT)

    assert store.cells() == (AMES.key, OTHER.key)
    assert (store.read((OTHER,), START, END).values == block(2.0).values).all()


@pytest.mark.parametrize("made", [0, 1, 4, 9, 12])
def test_a_store_that_was_never_finished_is_made_anew(path, monkeypatch, made):
    real, left = zarr.Group.create_array, [made]

    def counted(self, *args, **kwargs):
        if left[0] == 0:
            raise Killed
        left[0] -= 1
        return real(self, *args, **kwargs)

    with monkeypatch.context() as patched:
        patched.setattr(zarr.Group, "create_array", counted)
        with pytest.raises(Killed):
            opened(path).write(block(), None, NIGHT)

    assert opened(path).cells() == ()
    opened(path).write(block(), None, NIGHT)
    assert opened(path).read((AMES,), START, END).values[0, 0, 0] == 20.0


def test_a_bad_value_is_never_seen_unflagged_while_it_is_replaced(tmp_path, monkeypatch):
    for old, new in ((Flag.LIMIT, 0), (0, Flag.LIMIT)):
        before, after = (np.full((6, 1, 5), flag, np.uint16) for flag in (old, new))
        good, bad = (20.0, 99.0) if new else (99.0, 20.0)
        name = f"{old}-{new}"
        first, second = (block(good), block(bad))
        wrong = bad if new else good
        opened(tmp_path / f"{name}.zarr").write(first, before, NIGHT)
        many = writes_of(tmp_path / f"{name}.zarr", monkeypatch, second, after)
        assert many >= 3
        for writes in range(many):
            path = tmp_path / f"{name}-{writes}.zarr"
            opened(path).write(first, before, NIGHT)
            with monkeypatch.context() as patched:
                die_after(writes, patched)
                with pytest.raises(Killed):
                    opened(path).write(second, after, NEXT)
            assert wrong not in opened(path).read((AMES,), START, END).usable()
