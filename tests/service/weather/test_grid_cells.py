"""Cells of the weather store: appended, found again, seen by others, told to xarray."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from rootbound_service.errors import ServiceError
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.grid_layout import CELL_CHUNK
from rootbound_service.weather.grid_store import Span
from rootbound_service.weather.quality.flags import Flag
from service.weather.grid_rig import (
    AMES,
    END,
    NAN,
    NEXT,
    NIGHT,
    NORTH,
    ROOT,
    START,
    block,
    no_flags,
)
from service.weather.place_rig import opened, the_seat


@pytest.fixture
def store(place):
    return opened(place)


def test_cells_are_appended_and_do_not_touch_each_other(store):
    store.write(block(), None, NIGHT)
    store.write(block(first=5.0, cells=(NORTH,), elevation_m=np.array([320.5])), None, NIGHT)

    assert store.cells() == (AMES.key, NORTH.key)
    days = store.read((AMES, NORTH), START, END)
    assert list(days.values[0, :, 0]) == [20.0, 5.0]
    assert np.array_equal(store.elevations((AMES, NORTH)), [NAN, 320.5], equal_nan=True)


def test_an_elevation_that_is_unknown_later_stays(store):
    store.write(block(elevation_m=np.array([300.0])), None, NIGHT)
    store.write(block(elevation_m=np.array([NAN])), None, NEXT)

    assert list(store.elevations((AMES,))) == [300.0]


def test_the_store_remembers_the_first_day_it_was_asked_for(store):
    store.write(block(), None, NIGHT)
    store.write(block(start=date(2020, 1, 1)), None, NIGHT)
    store.write(block(), None, NEXT)

    assert store.spans((NORTH, AMES)) == [Span(None, None), Span(date(2020, 1, 1), END)]


def test_a_cell_in_the_sea_is_known_as_asked_for(store):
    store.note_asked((AMES, NORTH), START)
    store.write(block(), None, NIGHT)
    store.note_asked((AMES, NORTH), date(1979, 1, 1))
    store.note_asked((NORTH,), END)

    assert store.spans((AMES, NORTH)) == [
        Span(date(1981, 1, 1), END),
        Span(date(1981, 1, 1), None),
    ]
    assert store.cells() == (AMES.key, NORTH.key)


def test_the_last_day_is_the_last_one_with_every_vital_value_unflagged(store):
    given = block(days=10)
    given.values[3:] = NAN  # no vital ones
    given.values[1, 0, 9] = NAN
    flags = no_flags(given)
    flags[2, 0, 8] = Flag.OUTLIER
    flags[2, 0, 7] = Flag.RAIN_OUTLIER  # to be shown, not to be thrown away
    store.write(given, flags, NIGHT)

    assert store.spans((AMES,))[0].last_day == START + timedelta(days=7)


def test_the_last_day_is_found_however_long_ago(store):
    store.write(block(start=date(1981, 1, 1)), None, NIGHT)
    store.write(block(cells=(NORTH,)), None, NIGHT)

    assert [span.last_day for span in store.spans((NORTH, AMES))] == [END, date(1981, 1, 5)]


def test_the_day_axis_grows_into_another_year(store):
    store.write(block(), None, NIGHT)
    later = block(first=1.0, start=date(2026, 12, 30))
    store.write(later, None, date(2027, 1, 5))

    days = store.read((AMES,), date(2026, 12, 30), date(2027, 1, 3))

    assert (days.values == later.values).all()
    assert store.read((AMES,), START, END).values[0, 0, 0] == 20.0


def test_a_leap_day_has_its_own_place(store):
    given = block(start=date(2024, 2, 27))
    store.write(given, None, NIGHT)

    leap, march = (store.read((AMES,), d, d) for d in (date(2024, 2, 29), date(2024, 3, 1)))

    assert leap.values[0, 0, 0] == given.values[0, 0, 2]
    assert march.values[0, 0, 0] == given.values[0, 0, 3]


def test_many_cells_over_several_chunks_come_back_in_any_order(store):
    cells = [Cell("made_up", 1, i, 40.0, -90.0) for i in range(2 * CELL_CHUNK + 7)]
    given = block(cells=cells, days=2)
    store.write(given, None, NIGHT)
    order = np.random.default_rng(4).permutation(len(cells))[:300]
    some = block(first=7.0, cells=[cells[i] for i in order], days=2)
    store.write(some, None, NEXT)

    days = store.read(cells, START, START + timedelta(days=1))

    wanted = given.values.copy()
    wanted[:, order] = some.values
    assert (days.values == wanted).all()
    assert (store.read(some.cells, START, days.end).values == some.values).all()


def test_another_store_object_sees_what_was_written_since_it_opened(store, place):
    reader = opened(place)
    assert reader.cells() == ()
    store.write(block(), None, NIGHT)
    assert reader.cells() == (AMES.key,)
    store.write(block(cells=(NORTH,), start=date(2027, 1, 1)), None, NIGHT)

    assert reader.read((NORTH,), date(2027, 1, 1), date(2027, 1, 1)).values[0, 0, 0] == 20.0


def test_another_process_reads_what_this_one_wrote(store, place, bucket):
    store.write(block(), None, NIGHT)
    code = (
        "import sys; from datetime import date\n"
        "from rootbound_service.weather.cells import Cell\n"
        "from rootbound_service.weather.grid_object_seat import seat_in\n"
        "from rootbound_service.weather.grid_store import GridStore\n"
        "from rootbound_service.weather.where import place_of\n"
        "cell = Cell('made_up', 264, 138, 42.0, -93.75)\n"
        "days = GridStore(seat_in(place_of(sys.argv[1]), 'made_up'), 'made_up')"
        ".read((cell,), date(2026, 6, 2), date(2026, 6, 2))\n"
        "print(days.values[:, 0, 0].tolist())"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, place.as_uri() if isinstance(place, Path) else place.url],
        env={**os.environ, **bucket.env},
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )

    assert done.stdout.strip() == str([20.01 + i for i in range(6)])


def test_two_writers_take_turns_and_neither_loses_a_cell(place):
    cells = [Cell("made_up", row, 1, 40.0, -90.0) for row in range(8)]

    def write(cell):
        opened(place).write(block(first=cell.row, cells=(cell,)), None, NIGHT)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, cells))

    store = opened(place)
    assert set(store.cells()) == {cell.key for cell in cells}
    assert list(store.read(cells, START, END).values[0, :, 0]) == list(range(8))


def test_days_that_run_backwards_are_refused(store):
    with pytest.raises(ServiceError, match="turn the days"):
        store.read((AMES,), END, START)


def test_a_quantity_that_is_none_of_ours_is_named(store):
    with pytest.raises(ServiceError, match="'snow_mm' is not stored; use one of tmax_c"):
        store.read((AMES,), START, END, ("snow_mm",))


def test_what_cannot_belong_here_is_refused_and_nothing_is_made(store, place):
    with pytest.raises(ServiceError, match="the store begins 1981"):
        store.write(block(start=date(1980, 12, 31)), None, NIGHT)
    with pytest.raises(ServiceError, match="an answer of other does not belong here"):
        store.write(replace(block(), source="other"), None, NIGHT)
    with pytest.raises(ServiceError, match=r"must have the shape \(6, 1, 5\)"):
        store.write(block(), np.zeros((6, 1, 4), np.uint16), NIGHT)
    assert the_seat(place).stamp() == ()


def test_xarray_opens_the_store_with_dates_units_and_places(store, place):
    store.write(block(elevation_m=np.array([305.6])), None, NIGHT)

    seat = the_seat(place)
    assert seat.stamp()

    with xr.open_zarr(seat.root(), consolidated=False) as opened:
        rain = opened.set_index(quantity="quantity").sel(quantity="rain_mm", cell=AMES.key)
        assert float(rain.value.sel(day="2026-06-02")) == pytest.approx(22.01)
        assert rain.issued.sel(day="2026-06-02").values == np.datetime64("2026-06-06")
        assert np.isnat(rain.issued.sel(day="2026-06-06").values)
        assert np.isnan(rain.value.sel(day="2026-06-06"))
        assert opened.value.dims == ("quantity", "cell", "day")
        assert opened.value.sizes["cell"] == 1
        assert dict(zip(opened.quantity.values, opened.units.values, strict=True)) == {
            "tmax_c": "degC",
            "tmin_c": "degC",
            "rain_mm": "mm d-1",
            "solar_mj": "MJ m-2 d-1",
            "dewpoint_c": "degC",
            "wind_m_s": "m s-1",
        }
        assert (float(rain.lat), float(rain.lon)) == AMES.centre
        assert str(opened.day[0].values)[:10] == "1981-01-01"
        assert str(opened.day[-1].values)[:10] == "2026-12-31"
