"""A writer that dies leaves old or new, never a mixture that is believed; the next one mends."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
import xarray as xr
import zarr

from rootbound_service.weather import grid_layout
from rootbound_service.weather.cells import snap
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_store import GridStore

AMES, NORTH = snap(42.03, -93.62), snap(42.6, -93.62)
START, END = date(2026, 6, 1), date(2026, 6, 5)
NIGHT, NEXT = date(2026, 6, 6), date(2026, 6, 7)


class Killed(BaseException):
    """The process dies here."""


def columns(first=20.0):
    return {name: np.full(5, first + i) for i, name in enumerate(QUANTITY_NAMES)}


@pytest.fixture
def path(tmp_path):
    return tmp_path / "nasa_power.zarr"


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


@pytest.mark.parametrize("writes", range(12))
def test_a_half_written_revision_shows_each_quantity_old_or_new(path, monkeypatch, writes):
    GridStore(path).write_days(AMES, START, columns(20.0), NIGHT)
    with monkeypatch.context() as patched:
        die_after(writes, patched)
        with pytest.raises(Killed):
            GridStore(path).write_days(AMES, START, columns(10.0), NEXT)

    days = GridStore(path).read(AMES, START, END)
    for i, name in enumerate(QUANTITY_NAMES):
        assert set(getattr(days, name)) in ({10.0 + i}, {20.0 + i})

    GridStore(path).write_days(AMES, START, columns(10.0), NEXT)
    assert set(GridStore(path).read(AMES, START, END).wind_m_s) == {15.0}


@pytest.mark.parametrize("writes", [0, 1, 7, 18, 20, 22, 24, 40, 50, 60])
def test_a_half_appended_cell_is_not_there_and_the_next_pull_mends(path, monkeypatch, writes):
    GridStore(path).write_days(AMES, START, columns(), NIGHT)
    with monkeypatch.context() as patched:
        die_after(writes, patched)
        with pytest.raises(Killed):
            GridStore(path).write_days(NORTH, date(2027, 1, 1), columns(1.0), NEXT)

    assert GridStore(path).cells() == (AMES.key,)
    assert GridStore(path).read(AMES, START, END).tmax_c[0] == 20.0

    # Another cell takes the row: nothing of the dead one's is left in it.
    other = snap(41.0, -93.6)
    GridStore(path).write_days(other, START, columns(3.0), NEXT)
    assert GridStore(path).cells() == (AMES.key, other.key)
    assert np.isnan(GridStore(path).read(other, date(2027, 1, 1), date(2027, 1, 5)).tmax_c).all()
    assert GridStore(path).asked_from(other) == START
    with xr.open_zarr(path, consolidated=False) as opened:
        assert opened.sizes["cell"] == 2


@pytest.mark.parametrize("made", [0, 1, 9, 22])
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
            GridStore(path).write_days(AMES, START, columns(), NIGHT)

    assert GridStore(path).cells() == ()
    GridStore(path).write_days(AMES, START, columns(), NIGHT)
    assert GridStore(path).read(AMES, START, END).tmax_c[0] == 20.0


def test_a_bad_value_is_never_seen_unflagged_while_it_is_replaced(path, monkeypatch):
    bad = {"tmax_c": np.full(5, 1, np.uint8)}
    GridStore(path).write_days(AMES, START, columns(99.0), NIGHT, flags=bad)
    for writes in range(4):
        with monkeypatch.context() as patched:
            die_after(writes, patched)
            with pytest.raises(Killed):
                GridStore(path).write_days(AMES, START, columns(20.0), NEXT)
        assert 99.0 not in GridStore(path).read(AMES, START, END).tmax_c


def test_every_array_name_is_said_once():
    names = grid_layout.row_names()

    assert len(set(names)) == len(names) == 18
