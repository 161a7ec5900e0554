"""However a file is laid out, every cell gets its own values: properties over invented files."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources import cf_values
from rootbound_service.weather.sources.cf_preset import Axes, GridShape
from service.weather.cf_rig import LATER, PLAIN, a_source, as_cells, ask_all

PACKINGS = {
    "plain": ({}, "f4", 1e-5),
    "double": ({}, "f8", 1e-9),
    "scaled": ({"scale_factor": 0.01}, "i2", 6e-3),
    "offset": ({"scale_factor": 0.1, "add_offset": 20.0}, "i2", 6e-2),
    "unsigned": ({"scale_factor": 0.01, "add_offset": -50.0, "_Unsigned": "true"}, "u2", 6e-3),
}
LAYOUTS = st.fixed_dictionaries(
    {
        "south_first": st.booleans(),
        "lon0": st.sampled_from([-180.0, -94.0, -0.5, 0.0, 170.0, 178.5, 359.0]),
        "count_to_360": st.booleans(),
        "west_first": st.booleans(),
        "packing": st.sampled_from(sorted(PACKINGS)),
        "left_out": st.sets(st.integers(1, 8), max_size=6),
        "masked": st.integers(0, 11),
        "step": st.sampled_from([0.05, 1 / 24, 0.5, 2.5]),
    }
)


def laid_out(layout):
    """The file of a layout and what should be read: (latitude, longitude) -> days."""
    step = layout["step"]
    lat = [-20.0 + step * i for i in range(3)]
    lon = [layout["lon0"] + step * j for j in range(4)]
    around = 360.0 if layout["count_to_360"] else 180.0
    lon = [(one + (360 - around)) % 360 - (360 - around) for one in lon]
    days = [date(2024, 2, 26) + timedelta(days=i) for i in range(9) if i not in layout["left_out"]]
    packing, kind, near = PACKINGS[layout["packing"]]
    values = np.ma.array(np.arange(len(days) * 12) * 0.13 - 3.0, mask=False)
    values = values.reshape(len(days), 3, 4)
    values[:, layout["masked"] // 4, layout["masked"] % 4] = np.ma.masked
    truth = {
        (lat[i], (lon[j] + 180) % 360 - 180): np.ma.filled(values[:, i, j], np.nan)
        for i in range(3)
        for j in range(4)
    }
    if not layout["south_first"]:
        lat, values = lat[::-1], values[:, ::-1]
    if not layout["west_first"]:
        lon, values = lon[::-1], values[:, :, ::-1]
    fill = np.nan if kind.startswith("f") else 32767
    made = PLAIN.with_(
        lat=tuple(lat), lon=tuple(lon), days=tuple(days), kind=kind, fill=fill, packing=packing
    )
    return made, values, truth, near


@given(LAYOUTS)
@settings(max_examples=120, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_place_gets_its_own_values_whatever_the_layout(layout):
    made, values, truth, near = laid_out(layout)
    with tempfile.TemporaryDirectory() as folder:
        source = a_source(made.write(Path(folder) / "a.nc", values))
        cells = tuple(source.grid.snap(*place) for place in truth)

        block = source.fetch(Ask(cells, date(2024, 2, 26), date(2024, 3, 5), LATER))

    assert len(set(cells)) == 12
    given = [(day - date(2024, 2, 26)).days for day in made.days]
    left_out = sorted(set(range(9)) - set(given))
    for cell, place, mine in zip(cells, truth, block.values[0], strict=True):
        assert cell.lat == pytest.approx(place[0], abs=1e-6)
        assert (cell.lon - place[1] + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)
        assert np.allclose(mine[given], truth[place], rtol=0, atol=near, equal_nan=True)
        assert np.isnan(mine[left_out]).all()
    assert all(source.grid.from_key(cell.key) == cell for cell in cells)


@pytest.mark.parametrize("lon", [(170.0, 175.0, 180.0, 185.0), (170.0, 175.0, -180.0, -175.0)])
def test_a_grid_over_the_date_line_is_one_grid(tmp_path, lon):
    source = a_source(PLAIN.with_(lon=lon).write(tmp_path / "a.nc"))
    east, west = source.grid.snap(41.0, 178.0), source.grid.snap(41.0, -176.0)

    block = source.fetch(Ask((east, west), PLAIN.days[0], PLAIN.days[0], LATER))

    assert (east.column, west.column) == (2, 3)
    assert block.values[0, :, 0].tolist() == pytest.approx([-2.8, -2.7])


@pytest.mark.parametrize("first", [0.0, -180.0])
def test_a_grid_around_the_globe_has_no_seam(tmp_path, first):
    lon = tuple(first + 90.0 * i for i in range(4))
    source = a_source(PLAIN.with_(lon=lon).write(tmp_path / "a.nc"))

    assert source.grid.wraps
    assert source.grid.snap(41, -179.9).lon == source.grid.snap(41, 179.9).lon == -180.0
    assert source.grid.snap(41, 0.1) == source.grid.snap(41, -0.1)


def test_a_column_that_repeats_the_first_is_none_of_the_grid(tmp_path):
    lon = (0.0, 90.0, 180.0, 270.0, 360.0)
    source = a_source(PLAIN.with_(lon=lon).write(tmp_path / "a.nc"))

    assert (source.grid.columns, source.grid.wraps) == (4, True)


@pytest.mark.parametrize("north_first", [False, True])
def test_exactly_between_cells_the_northern_and_the_eastern_one_is_read(tmp_path, north_first):
    lat = PLAIN.lat[::-1] if north_first else PLAIN.lat
    source = a_source(PLAIN.with_(lat=lat).write(tmp_path / "a.nc"))

    cell = source.grid.snap(41.25, -93.25)
    block = source.fetch(Ask((cell,), PLAIN.days[0], PLAIN.days[0], LATER))

    assert cell.centre == (41.5, -93.0)
    assert block.values[0, 0, 0] == pytest.approx(PLAIN.values()[0, 1, 2])


def test_a_file_of_one_row_fits_a_written_grid(tmp_path):
    made = PLAIN.with_(lat=(41.5,))
    shape = GridShape(lat0=41.0, lon0=-94.0, lat_step=0.5, lon_step=0.5, rows=3, columns=4)
    source = a_source(made.write(tmp_path / "a.nc"), grid=shape)

    values = source.fetch(ask_all(source)).values[0]

    assert np.allclose(values[4:8], as_cells(made.values()), atol=1e-6)
    assert np.isnan(values[:4]).all()
    assert np.isnan(values[8:]).all()


LEAP_DAYS = (date(2024, 2, 28), date(2024, 2, 29), date(2024, 3, 1))


def three_days(tmp_path, source):
    cell = source.grid.cell(0, 0)
    return source.fetch(Ask((cell,), LEAP_DAYS[0], LEAP_DAYS[2], LATER)).values[0, 0].tolist()


@pytest.mark.parametrize("calendar", ["gregorian", "standard", "proleptic_gregorian", None])
def test_the_leap_day_has_its_own_value(tmp_path, calendar):
    made = PLAIN.with_(days=LEAP_DAYS, calendar=calendar)

    assert three_days(tmp_path, a_source(made.write(tmp_path / "a.nc"))) == pytest.approx(
        [-3.0, -1.8, -0.6]
    )


@pytest.mark.parametrize("calendar", ["noleap", "365_day"])
def test_a_calendar_without_a_leap_day_leaves_it_missing(tmp_path, calendar):
    # Days 58 and 59 since 1 January are 28 February and 1 March where there is no 29th.
    made = PLAIN.with_(times=(58.0, 59.0), time_units="days since 2024-01-01", calendar=calendar)
    first, leap, last = three_days(tmp_path, a_source(made.write(tmp_path / "a.nc")))

    assert [first, last] == pytest.approx([-1.8 - 1.2, -1.8])
    assert np.isnan(leap)


def test_a_calendar_of_365_days_may_leave_out_the_last_of_december_instead(tmp_path):
    # As Daymet does: date = 1 January + (day of the year - 1), 31 December is not there.
    times = tuple(float(day) for day in range(365))
    made = PLAIN.with_(times=times, time_units="days since 2024-01-01", calendar="noleap")
    source = a_source(made.write(tmp_path / "a.nc"), axes=Axes(dropped="31 December"))
    cell = source.grid.cell(0, 0)

    year = source.fetch(Ask((cell,), date(2024, 1, 1), date(2024, 12, 31), LATER)).values[0, 0]

    assert year[59] == pytest.approx(-3.0 + 59 * 1.2, abs=1e-4)  # 29 February
    assert np.isfinite(year[:365]).all()
    assert np.isnan(year[365])


def test_a_day_that_only_the_calendar_has_is_left_out(tmp_path):
    times = (58.0, 59.0, 60.0)
    made = PLAIN.with_(times=times, time_units="days since 2025-01-01", calendar="366_day")
    source = a_source(made.write(tmp_path / "a.nc"))
    ask = Ask((source.grid.cell(0, 0),), date(2025, 2, 28), date(2025, 3, 1), LATER)

    assert source.fetch(ask).values[0, 0].tolist() == pytest.approx([-3.0, -0.6])


@pytest.mark.parametrize(
    ("units", "times"),
    [
        ("hours since 2026-07-01 00:00", (0.0, 24.0, 48.0)),
        ("hours since 2026-07-01", (12.0, 36.0, 60.0)),
        ("seconds since 2026-07-01", (0.0, 86_399.9999999, 172_800.0)),
        ("days since 2026-06-30 12:00:00", (0.5, 1.5, 2.5)),
        ("days since 2026-07-01", (0.0, 0.99999999, 1.99999999)),
    ],
)
def test_times_of_day_and_rounding_do_not_move_a_day(tmp_path, units, times):
    source = a_source(PLAIN.with_(times=times, time_units=units).write(tmp_path / "a.nc"))
    cell = source.grid.cell(0, 0)

    block = source.fetch(Ask((cell,), date(2026, 7, 1), date(2026, 7, 3), LATER))

    assert block.values[0, 0].tolist() == pytest.approx([-3.0, -1.8, -0.6])


@given(st.lists(st.tuples(st.integers(0, 199), st.integers(0, 299)), min_size=1, max_size=40))
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_scattered_cells_are_read_alike_in_one_piece_and_in_many(wide_file, places):
    source, truth = wide_file
    cells = tuple(source.grid.cell(row, column) for row, column in places)
    ask = Ask(cells, PLAIN.days[0], PLAIN.days[2], LATER)

    values = source.fetch(ask).values[0]

    assert np.array_equal(values, np.array([truth[:, r, c] for r, c in places]))


@pytest.fixture(scope="module", params=[cf_values.MOST_AT_ONCE, 1000])
def wide_file(request, tmp_path_factory):
    """A larger grid, read with much and with little room."""
    rng = np.random.default_rng(4)
    truth = rng.integers(-40, 40, (3, 200, 300)).astype(float)
    made = PLAIN.with_(
        lat=tuple(30 + 0.05 * i for i in range(200)),
        lon=tuple(-100 + 0.05 * i for i in range(300)),
        days=PLAIN.days[:3],
    )
    path = made.write(tmp_path_factory.mktemp("wide") / "a.nc", truth)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cf_values, "MOST_AT_ONCE", request.param)
        yield a_source(path), truth
