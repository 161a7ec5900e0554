"""A file that is not as its preset says is refused by what is wrong, never by a library's error."""

from __future__ import annotations

import contextlib
from datetime import date

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.day import Ask
from rootbound_service.weather.sources.cf_preset import Axes, GridShape, Variable
from service.weather.cf_rig import FIRST, PLAIN, a_source, ask_all, netCDF4

GRID = GridShape(lat0=41.0, lon0=-94.0, lat_step=0.5, lon_step=0.5, rows=3, columns=4)


def read_all(path, variables=None, **more):
    """Every value of a file."""
    source = a_source(path, variables, **more)
    return source.fetch(ask_all(source)).values[0]


def refusal(path, variables=None, **more):
    """Read every cell, and give the sentence of the error."""
    with pytest.raises(Unavailable) as caught:
        read_all(path, variables, **more)
    assert str(caught.value).startswith(f"Made, {path.name}: ")
    assert not caught.value.retry_later
    return caught.value.what


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"lat": (41.0, 41.5, 42.5)}, "lat is not evenly spaced near 41.5; one even step"),
        ({"lon": (-94.0, -93.5, -93.1, -92.5)}, "lon is not evenly spaced near -93.1"),
        ({"lat": (41.0, 41.0, 41.0)}, "lat is not evenly spaced near 41;"),
        ({"lat": (4.1e6, 4.2e6, 4.3e6)}, "lat is not in degrees: degrees_north"),
        ({"name": "tasmax"}, "has no tmax; it has tasmax over time, lat, lon"),
        ({"units": "furlong"}, "tmax comes in 'furlong', a unit we do not know for it; known: d"),
        ({"units": "K m-1"}, "tmax comes in 'K m-1', a unit we do not know for it"),
        ({"units": None}, "tmax names no units; the preset must"),
        ({"calendar": "360_day"}, "time runs by the calendar '360_day'; known: standard"),
        ({"calendar": "lunar"}, "time runs by the calendar 'lunar'"),
        ({"time_units": "days since never"}, "time in 'days since never' cannot be read"),
        ({"time_units": "fortnights since 2000-01-01"}, "cannot be read"),
        (
            {"days": (*PLAIN.days[:2], PLAIN.days[1])},
            "time: 2026-07-02 comes twice; one step a day in order is wanted",
        ),
        ({"days": PLAIN.days[::-1]}, "time: 2026-07-04 comes after a later day"),
        ({"times": (46202.0, np.nan)}, "time has steps without a time"),
    ],
)
def test_what_is_wrong_with_a_file_is_said(tmp_path, changes, said):
    made = PLAIN.with_(**changes)
    path = made.write(tmp_path / "a.nc")

    assert said in refusal(path, axes=Axes(time="time", lat="lat", lon="lon"))


def test_a_variable_without_days_is_refused(tmp_path):
    path = PLAIN.with_(name="other").write(tmp_path / "a.nc")
    with netCDF4.Dataset(path, "a") as file:
        file.createVariable("tmax", "f4", ("lat", "lon")).units = "degC"

    assert refusal(path) == "tmax lies over lat, lon; time, lat, lon are wanted"


def test_a_unit_other_than_the_presets_is_refused_though_it_is_known(tmp_path):
    path = PLAIN.with_(units="K").write(tmp_path / "a.nc")

    what = refusal(path, {"tmax_c": Variable(name="tmax", units="degC")})

    assert what == "tmax comes in 'K', the preset says 'degC'"


def test_the_presets_unit_stands_where_the_file_names_none(tmp_path):
    source = a_source(
        PLAIN.with_(units=None).write(tmp_path / "a.nc"),
        {"tmax_c": Variable(name="tmax", units="K")},
    )

    assert source.fetch(ask_all(source)).values[0, 0, 0] == pytest.approx(-3.0 - 273.15)


def curved(path):
    """A projected grid: latitude and longitude of every cell, over y and x."""
    with netCDF4.Dataset(path, "w") as file:
        for name, size in {"time": 2, "y": 3, "x": 4}.items():
            file.createDimension(name, size)
        for name, units in {"lat": "degrees_north", "lon": "degrees_east"}.items():
            made = file.createVariable(name, "f8", ("y", "x"))
            made[:] = np.arange(12.0).reshape(3, 4) + 30
            made.units = units
        time = file.createVariable("time", "f8", ("time",))
        time[:] = [0, 1]
        time.units = "days since 2026-07-01"
        value = file.createVariable("tmax", "f4", ("time", "y", "x"))
        value[:] = 20.0
        value.units = "degC"
    return path


@pytest.mark.parametrize(
    ("axes", "said"),
    [
        (Axes(), "lat lies over y, x; only a grid of rows and columns can be read"),
        (Axes(lat="lat", lon="lon"), "lat has 2 dimensions; only a grid along lat alone can be"),
    ],
)
def test_a_grid_with_latitudes_of_two_dimensions_is_refused(tmp_path, axes, said):
    path = curved(tmp_path / "a.nc")

    assert refusal(path, axes=axes).startswith(said)
    assert refusal(path, axes=axes, grid=GRID).startswith(said)


def test_two_variables_where_the_only_one_is_meant_are_refused(tmp_path):
    path = PLAIN.write(tmp_path / "a.nc")
    with netCDF4.Dataset(path, "a") as file:
        file.createVariable("tmin", "f4", ("time", "lat", "lon"))

    what = refusal(path, {"tmax_c": Variable()})

    assert what == "has tmax, tmin over time, lat, lon; one is wanted"


def test_text_where_numbers_are_wanted_is_refused(tmp_path):
    path = PLAIN.with_(name="other").write(tmp_path / "a.nc")
    with netCDF4.Dataset(path, "a") as file:
        file.createVariable("tmax", "S1", ("time", "lat", "lon")).units = "degC"

    assert refusal(path) == "tmax holds no numbers"


def test_two_axes_of_time_must_be_told_apart_by_name(tmp_path):
    path = PLAIN.write(tmp_path / "a.nc")
    with netCDF4.Dataset(path, "a") as file:
        file.createDimension("issue", 1)
        file.createVariable("issue", "f8", ("issue",)).units = "days since 1900-01-01"

    assert refusal(path) == "has several for time: time, issue; the preset must name one"
    source = a_source(path, axes=Axes(time="time"))
    assert np.isfinite(source.fetch(ask_all(source)).values).all()


@pytest.mark.parametrize(
    "content", [b"", b"<html>maintenance</html>", b"GRIB" + b"\0" * 99, b"\x89HDF\r\n\x1a\n"]
)
def test_what_is_no_netcdf_is_told(tmp_path, content):
    path = tmp_path / "a.nc"
    path.write_bytes(content)

    what = refusal(path, grid=GRID)

    assert what.startswith(("is neither netCDF nor Zarr", "cannot be read (OSError"))


@pytest.mark.parametrize("form", ["NETCDF4", "NETCDF3_CLASSIC"])
@pytest.mark.parametrize("share", [0.05, 0.3, 0.6, 0.9])
def test_a_file_cut_short_is_refused_or_its_values_are_whole(tmp_path, form, share):
    whole = PLAIN.with_(form=form).write(tmp_path / "whole.nc")
    content = whole.read_bytes()
    path = tmp_path / "a.nc"
    path.write_bytes(content[: int(len(content) * share)])

    truth = read_all(whole, grid=GRID)
    error = ""
    try:
        read = read_all(path, grid=GRID)
    except Unavailable as refused:
        error = refused.what
        read = truth

    assert np.array_equal(read, truth)
    assert not error or "cannot be read" in error or "has no" in error


def test_a_zarr_group_with_a_torn_description_is_refused(tmp_path):
    group = tmp_path / "a.zarr"
    group.mkdir()
    (group / "zarr.json").write_text('{"zarr_format": 3, "node_type": ')

    assert refusal(group, grid=GRID).startswith("cannot be read")


def test_dates_before_the_calendar_began_are_no_days(tmp_path):
    made = PLAIN.with_(times=(0.0, 400.0), time_units="days since 0000-01-01", calendar="noleap")
    source = a_source(made.write(tmp_path / "a.nc"), grid=GRID)

    young = Ask((source.grid.cell(0, 0),), FIRST, FIRST, date(2026, 7, 2))

    assert np.isnan(source.fetch(young).values).all()


@given(st.lists(st.tuples(st.integers(4, 1200), st.integers(0, 255)), min_size=1, max_size=8))
@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@pytest.mark.parametrize("grid", [GRID, None])
def test_a_damaged_file_of_the_classic_form_is_refused_and_nothing_worse(
    classic, tmp_path, grid, flips
):
    content = bytearray(classic)
    for place, byte in flips:
        content[place] = byte
    path = tmp_path / "a.nc"
    path.write_bytes(content)
    values = None
    with contextlib.suppress(Unavailable):
        source = a_source(path, grid=grid)
        corner = Ask((source.grid.cell(0, 0),), FIRST, PLAIN.days[-1], date(2026, 12, 1))
        values = source.fetch(corner).values

    assert values is None or values.shape == (1, 1, 5)


@pytest.fixture(scope="module")
def classic(tmp_path_factory):
    """The bytes of a good file; the first 1200 hold its description and its axes."""
    made = PLAIN.with_(form="NETCDF3_CLASSIC")
    return made.write(tmp_path_factory.mktemp("classic") / "a.nc").read_bytes()
