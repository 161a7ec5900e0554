"""The weather store: what goes in comes out, later answers replace, flags hide."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date

import numpy as np
import pytest
import xarray as xr

from rootbound_service.errors import ServiceError
from rootbound_service.weather.cells import snap
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.grid_store import GridStore
from rootbound_service.weather.quality import Flag

AMES, NORTH = snap(42.03, -93.62), snap(42.6, -93.62)
START, END = date(2026, 6, 1), date(2026, 6, 5)
NIGHT, NEXT = date(2026, 6, 6), date(2026, 6, 7)
NAN = float("nan")


def columns(first=20.0, days=5):
    """Some numbers, another series for every name."""
    return {name: first + i + np.arange(days) / 100 for i, name in enumerate(QUANTITY_NAMES)}


def test_days_come_back_as_they_went_in_to_the_digit(store):
    given = columns()
    store.write_days(AMES, START, given, NIGHT)

    days = store.read(AMES, START, END)

    assert (days.start, days.end) == (START, END)
    for name in QUANTITY_NAMES:
        assert list(getattr(days, name)) == list(given[name])


def test_days_that_the_store_does_not_have_are_missing_on_both_sides(store):
    store.write_days(AMES, START, columns(), NIGHT)

    days = store.read(AMES, date(1980, 12, 30), date(2027, 1, 2))

    assert len(days) == (date(2027, 1, 2) - date(1980, 12, 30)).days + 1
    assert np.isfinite(days.tmax_c).sum() == 5
    assert days.known_through() == END


def test_a_quantity_without_any_value_is_none(store):
    store.write_days(AMES, START, columns() | {"wind_m_s": np.full(5, NAN)}, NIGHT)

    assert store.read(AMES, START, END).wind_m_s is None


def test_a_later_answer_replaces_and_the_revised_values_are_counted(store):
    store.write_days(AMES, START, columns(), NIGHT)
    newer = columns()
    newer["tmax_c"][1] += 0.5
    newer["rain_mm"][4] += 2.0

    assert store.write_days(AMES, START, newer, NEXT) == 2
    assert store.read(AMES, START, END).tmax_c[1] == newer["tmax_c"][1]


def test_a_missing_value_in_a_newer_answer_erases_nothing(store):
    store.write_days(AMES, START, columns(), NIGHT)
    newer = columns()
    newer["tmax_c"][:] = NAN

    assert store.write_days(AMES, START, newer, NEXT) == 0
    assert list(store.read(AMES, START, END).tmax_c) == list(columns()["tmax_c"])


def test_a_value_keeps_the_date_of_the_answer_that_gave_it(store):
    early = columns()
    early["tmax_c"][3:] = NAN
    store.write_days(AMES, START, early, NIGHT)
    late = columns()
    late["tmax_c"][0] += 1.0
    late["tmax_c"][1] += 0.001  # rounding
    store.write_days(AMES, START, late, NEXT)

    issued = store.stored(AMES, "tmax_c", START, END).issued - (NIGHT - date(1981, 1, 1)).days

    assert list(issued) == [1, 0, 0, 1, 1]


def test_a_flagged_value_is_stored_but_not_used(store):
    flags = {"tmax_c": np.array([0, Flag.LIMIT, 0, 0, 0], np.uint8)}
    store.write_days(AMES, START, columns(), NIGHT, flags=flags)

    assert np.isnan(store.read(AMES, START, END).tmax_c[1])
    kept = store.stored(AMES, "tmax_c", START, END)
    assert (kept.values[1], kept.flags[1]) == (columns()["tmax_c"][1], Flag.LIMIT)


def test_a_flag_is_lifted_when_a_good_value_comes_and_not_by_a_missing_one(store):
    flags = {"tmax_c": np.array([0, 1, 1, 0, 0], np.uint8)}
    store.write_days(AMES, START, columns(), NIGHT, flags=flags)
    newer = columns(first=10.0)
    newer["tmax_c"][2] = NAN
    store.write_days(AMES, START, newer, NEXT)

    days = store.read(AMES, START, END)

    assert days.tmax_c[1] == newer["tmax_c"][1]
    assert np.isnan(days.tmax_c[2])


def test_cells_are_appended_and_do_not_touch_each_other(store):
    store.write_days(AMES, START, columns(), NIGHT)
    store.write_days(NORTH, START, columns(first=5.0), NIGHT, elevation_m=320.5)

    assert store.cells() == (AMES.key, NORTH.key)
    assert store.read(AMES, START, END).tmax_c[0] == 20.0
    assert store.read(NORTH, START, END).tmax_c[0] == 5.0
    assert (store.elevation_m(AMES), store.elevation_m(NORTH)) == (None, 320.5)


def test_the_store_remembers_the_first_day_it_was_asked_for(store):
    assert store.asked_from(AMES) is None
    store.write_days(AMES, START, columns(), NIGHT)
    store.write_days(AMES, date(2020, 1, 1), columns(), NIGHT)
    store.write_days(AMES, START, columns(), NEXT)

    assert store.asked_from(AMES) == date(2020, 1, 1)
    assert store.last_day(AMES) == END


def test_the_day_axis_grows_into_another_year(store):
    store.write_days(AMES, START, columns(), NIGHT)
    store.write_days(AMES, date(2026, 12, 30), columns(first=1.0), date(2027, 1, 5))

    days = store.read(AMES, date(2026, 12, 30), date(2027, 1, 3))

    assert list(days.tmax_c) == list(columns(first=1.0)["tmax_c"])
    assert store.read(AMES, START, END).tmax_c[0] == 20.0


def test_another_process_sees_what_was_written_since_it_opened(store, tmp_path):
    reader = GridStore(tmp_path / "weather" / "nasa_power.zarr")
    assert reader.cells() == ()
    store.write_days(AMES, START, columns(), NIGHT)
    assert reader.cells() == (AMES.key,)
    store.write_days(NORTH, date(2027, 1, 1), columns(), NIGHT)

    assert reader.read(NORTH, date(2027, 1, 1), date(2027, 1, 1)).tmax_c[0] == 20.0


def test_two_writers_take_turns_and_neither_loses_a_cell(tmp_path):
    path = tmp_path / "weather" / "nasa_power.zarr"
    cells = [snap(40 + i / 2, -93.62) for i in range(8)]

    def write(cell):
        GridStore(path).write_days(cell, START, columns(first=cell.met_row), NIGHT)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(write, cells))

    store = GridStore(path)
    assert set(store.cells()) == {cell.key for cell in cells}
    for cell in cells:
        assert store.read(cell, START, END).tmax_c[0] == cell.met_row


def test_a_cell_that_was_never_pulled_is_named(store):
    with pytest.raises(ServiceError, match="m264-138:s132-86: no weather is stored for this cell"):
        store.read(AMES, START, END)
    assert store.last_day(AMES) is None


def test_days_that_run_backwards_are_refused(store):
    store.write_days(AMES, START, columns(), NIGHT)

    with pytest.raises(ServiceError, match="turn the days"):
        store.read(AMES, END, START)


def test_days_before_the_store_begins_are_refused(store):
    with pytest.raises(ServiceError, match="the store begins 1981"):
        store.write_days(AMES, date(1980, 12, 31), columns(), NIGHT)
    assert store.cells() == ()


def test_xarray_opens_the_store_with_dates_units_and_places(store, tmp_path):
    store.write_days(AMES, START, columns(), NIGHT, elevation_m=305.6)
    path = tmp_path / "weather" / "nasa_power.zarr"

    with xr.open_zarr(path, consolidated=False) as opened:
        cell = opened.sel(cell=AMES.key)
        assert float(cell.rain_mm.sel(day="2026-06-02")) == pytest.approx(22.01)
        assert cell.issued_rain_mm.sel(day="2026-06-02").values == np.datetime64("2026-06-06")
        assert np.isnat(cell.issued_rain_mm.sel(day="2026-06-06").values)
        assert np.isnan(cell.rain_mm.sel(day="2026-06-06"))
        assert opened.rain_mm.dims == ("cell", "day")
        assert {name: opened[name].attrs["units"] for name in QUANTITY_NAMES} == {
            "tmax_c": "degC",
            "tmin_c": "degC",
            "rain_mm": "mm d-1",
            "solar_mj": "MJ m-2 d-1",
            "dewpoint_c": "degC",
            "wind_m_s": "m s-1",
        }
        assert (float(cell.lat), float(cell.lon)) == AMES.centre
        assert str(opened.day[0].values)[:10] == "1981-01-01"
        assert str(opened.day[-1].values)[:10] == "2026-12-31"
