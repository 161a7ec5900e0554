"""A CF file of any layout, netCDF or Zarr, gives each cell its days in our names and units."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.day import Ask, Status
from rootbound_service.weather.sources.cf_preset import Axes, GridShape, Variable
from service.weather.cf_rig import (
    FIRST,
    LATER,
    PLAIN,
    a_source,
    as_cells,
    ask_all,
)


def test_a_plain_file_gives_each_cell_its_days(tmp_path):
    source = a_source(PLAIN.write(tmp_path / "a.nc"))

    block = source.fetch(ask_all(source))

    assert block.quantities == ("tmax_c",)
    assert np.allclose(block.values[0], as_cells(PLAIN.values()), atol=1e-6)
    assert block.end == date(2026, 7, 5)
    assert block.raw == b""
    assert block.origins == ("a.nc",)


@pytest.mark.parametrize("dims", [("lat", "lon", "time"), ("lon", "time", "lat")])
def test_the_order_of_the_dimensions_does_not_matter(tmp_path, dims):
    source = a_source(PLAIN.with_(dims=dims).write(tmp_path / "a.nc"))

    block = source.fetch(ask_all(source))

    assert np.allclose(block.values[0], as_cells(PLAIN.values()), atol=1e-6)


def test_a_further_dimension_of_one_is_no_hindrance(tmp_path):
    dims = ("time", "height", "lat", "lon")
    source = a_source(PLAIN.with_(dims=dims).write(tmp_path / "a.nc"))

    assert np.allclose(source.fetch(ask_all(source)).values[0], as_cells(PLAIN.values()), atol=1e-6)


@pytest.mark.parametrize("form", ["NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET", "NETCDF4_CLASSIC"])
def test_older_forms_of_netcdf_are_read(tmp_path, form):
    source = a_source(PLAIN.with_(form=form).write(tmp_path / "a.nc"))

    assert np.allclose(source.fetch(ask_all(source)).values[0], as_cells(PLAIN.values()), atol=1e-6)


def test_a_zarr_group_is_read_as_the_file_it_was_made_from(tmp_path):
    import xarray as xr

    file = PLAIN.write(tmp_path / "a.nc")
    with xr.open_dataset(file, engine="netcdf4", decode_times=False) as data:
        data.to_zarr(tmp_path / "a.zarr", consolidated=False)
    one, other = a_source(file), a_source(tmp_path / "a.zarr")

    assert other.grid == one.grid
    assert np.array_equal(
        other.fetch(ask_all(other)).values, one.fetch(ask_all(one)).values, equal_nan=True
    )


def test_unsigned_packing_with_an_offset_is_undone(tmp_path):
    # The shape of gridMET: 16 bits unsigned, scale 0.1, offset 220 K, fill 32767.
    made = PLAIN.with_(
        kind="u2",
        units="K",
        fill=32767,
        packing={"scale_factor": 0.1, "add_offset": 220.0, "_Unsigned": "true"},
    )
    kelvin = np.ma.masked_invalid(PLAIN.values() + 290)
    kelvin[0, 0, 0] = np.ma.masked
    source = a_source(made.write(tmp_path / "a.nc", kelvin))

    values = source.fetch(ask_all(source)).values[0]

    assert np.isnan(values[0, 0])
    assert np.allclose(values[1:], as_cells(PLAIN.values() + 290 - 273.15)[1:], atol=5e-5)


def test_packed_numbers_whose_writer_named_no_fill_have_the_libraries_own(tmp_path):
    made = PLAIN.with_(kind="i2", packing={"scale_factor": 0.1})
    values = np.ma.array(PLAIN.values(), mask=False)
    values[2, 1, 1] = np.ma.masked
    source = a_source(made.write(tmp_path / "a.nc", values))

    read = source.fetch(ask_all(source)).values[0]

    assert np.isnan(read).sum() == 1
    assert np.isnan(read[1 * 4 + 1, 2])


def test_a_fill_that_only_the_preset_names_is_missing(tmp_path):
    values = PLAIN.values()
    values[1, 2, 3] = -9999.0
    path = PLAIN.write(tmp_path / "a.nc", values)
    source = a_source(path, {"tmax_c": Variable(name="tmax", fill=-9999.0)})

    read = source.fetch(ask_all(source)).values[0]

    assert np.isnan(read[11, 1])
    assert np.isnan(read).sum() == 1


def test_a_day_that_a_file_leaves_out_is_missing_and_no_other(tmp_path):
    days = (PLAIN.days[0], *PLAIN.days[2:])
    source = a_source(PLAIN.with_(days=days).write(tmp_path / "a.nc"))

    block = source.fetch(ask_all(source))

    assert np.isnan(block.values[0]).all(axis=0).tolist() == [False, True, False, False, False]
    assert block.status[0].tolist() == [2, Status.UNKNOWN, 2, 2, 2]


def test_cells_outside_a_file_are_missing_and_the_rest_is_not(tmp_path):
    source = a_source(
        PLAIN.write(tmp_path / "a.nc"),
        grid=GridShape(lat0=40.0, lon0=-95.0, lat_step=0.5, lon_step=0.5, rows=8, columns=9),
    )
    inside, outside = source.grid.snap(41.5, -93.0), source.grid.snap(40.0, -95.0)

    block = source.fetch(Ask((outside, inside), FIRST, FIRST, LATER))

    assert (inside.row, inside.column) == (3, 4)
    assert np.isnan(block.values[0, 0, 0])
    assert block.values[0, 1, 0] == pytest.approx(PLAIN.values()[0, 1, 2])


def test_wind_is_brought_to_two_metres_and_vapour_pressure_to_a_dew_point(tmp_path):
    # FAO-56 Eq. 47: 10 m to 2 m is 0.748. Its table 2.3: 1.228 kPa is saturation at 10.0 degC.
    wind = PLAIN.with_(name="u10", units="m s-1").write(tmp_path / "u10.nc", PLAIN.values() + 4)
    PLAIN.with_(name="vp", units="Pa").write(tmp_path / "vp.nc", np.full((5, 3, 4), 1228.0))
    source = a_source(
        str(wind.parent / "{file}.nc"),
        {
            "dewpoint_c": Variable(name="vp", file="vp"),
            "wind_m_s": Variable(name="u10", file="u10", height_m=10),
        },
    )

    block = source.fetch(ask_all(source))

    assert block.quantities == ("dewpoint_c", "wind_m_s")
    assert block.values[0, 0, 0] == pytest.approx(10.0, abs=0.01)
    assert block.values[1, 0, 0] == pytest.approx(0.748, abs=0.001)


def test_the_only_variable_over_the_three_axes_needs_no_name(tmp_path):
    source = a_source(
        PLAIN.with_(name="any_name").write(tmp_path / "a.nc"), {"tmax_c": Variable(units="degC")}
    )

    assert np.isfinite(source.fetch(ask_all(source)).values).all()


def test_axes_are_found_by_their_attributes_and_may_be_named(tmp_path):
    path = PLAIN.write(tmp_path / "a.nc")
    named = a_source(path, axes=Axes(time="time", lat="lat", lon="lon"))

    assert named.grid == a_source(path).grid
    with pytest.raises(Unavailable, match=r"has no latitude; it has "):
        a_source(path, axes=Axes(lat="latitude"))


@pytest.mark.parametrize(("shift", "place"), [(0, 1), (-1, 2), (1, 0)])
def test_labels_are_moved_by_the_days_that_the_preset_says(tmp_path, shift, place):
    source = a_source(PLAIN.write(tmp_path / "a.nc"), label_shift_days=shift)
    day = date(2026, 7, 2)

    block = source.fetch(ask_all(source, day, day))

    assert np.allclose(block.values[0, :, 0], as_cells(PLAIN.values())[:, place], atol=1e-6)


def test_one_variables_labels_may_be_moved_alone(tmp_path):
    path = PLAIN.write(tmp_path / "a.nc")
    both = {
        "tmax_c": Variable(name="tmax", shift_days=-1),
        "tmin_c": Variable(name="tmax"),
    }
    source = a_source(path, both)

    block = source.fetch(ask_all(source, FIRST, FIRST))

    assert np.allclose(block.values[0, :, 0], as_cells(PLAIN.values())[:, 1], atol=1e-6)
    assert np.allclose(block.values[1, :, 0], as_cells(PLAIN.values())[:, 0], atol=1e-6)
