"""Real gridded files read through our reader, held against netCDF4 and xarray by themselves.

Outside sources, beside the project in ``../shared/data/weather`` and not part of it: crops of
NOAA nClimGrid-Daily, January 2022, prelim and scaled (NOAA NCEI, no restrictions); NCEP
reanalysis air temperature, packed in 16 bits, 4 times a day, north first, 200-330 degrees east
(public data of the PyPI package hvsampledata 0.1.5); NOAA gridded normals 2006-2020 of the
highest temperature (public domain).
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from outside.cases import shared
from rootbound_service.public.http import Unavailable
from rootbound_service.weather.day import Ask, Status
from rootbound_service.weather.sources.cf import CfSource
from rootbound_service.weather.sources.cf_preset import Axes, Files, HabitsRow, Preset, Variable
from rootbound_service.weather.sources.cf_presets import shipped_preset

netCDF4 = pytest.importorskip("netCDF4")  # noqa: N816 - its own name
xarray = pytest.importorskip("xarray")

NCLIMGRID = "weather/nclimgrid_daily_202201_cornbelt"
NCEP = "weather/ncep_air_temperature_small_packed_int16.nc"
NORMALS = "weather/tmax-2006_2020-daily-normals-v1.0.crop.nc"
FIRST = date(2022, 1, 1)
HABITS = HabitsRow(lag=4, recent=10, settled=90)
THEIRS = {"tmax_c": "tmax", "tmin_c": "tmin", "rain_mm": "prcp"}


def crop(name, kind):
    return shared(f"{NCLIMGRID}/{name}-202201-grd-{kind}.crop.nc")


def nclimgrid(*kinds):
    """The shipped preset of one-variable files, over the real folder; some kinds of files."""
    folder = crop("tmax", "scaled").parent
    preset = shipped_preset("nclimgrid_by_variable")
    chosen = tuple(e for e in preset.files if any(kind in e.where for kind in kinds))
    assert len(chosen) == len(kinds)
    return CfSource(preset.model_copy(update={"folder": folder, "files": chosen}))


def every_cell(source, path, lat="lat", lon="lon"):
    """The cell of every value in a file, in the file's own order."""
    with netCDF4.Dataset(path) as file:
        file.set_auto_mask(False)  # the limits of some coordinates are no numbers: "24.56253f"
        north, east = np.meshgrid(file[lat][:], file[lon][:], indexing="ij")
    cells = [
        source.grid.snap(float(a), (float(b) + 180) % 360 - 180)
        for a, b in zip(north.flat, east.flat, strict=True)
    ]
    assert None not in cells
    assert len(set(cells)) == len(cells)
    return tuple(cells)


def by_xarray(path, name):
    """Shape (cell, step), cells in the file's own order."""
    with xarray.open_dataset(path, engine="netcdf4", decode_times=False) as file:
        values = file[name].values.astype(np.float64)
    return values.reshape(len(values), -1).T


def by_netcdf4(path, name):
    """The same by the other library."""
    with netCDF4.Dataset(path) as file:
        values = np.ma.filled(file[name][:].astype(np.float64), np.nan)
    return values.reshape(len(values), -1).T


@pytest.mark.parametrize("kind", ["prelim", "scaled"])
@pytest.mark.parametrize("quantity", ["tmax_c", "tmin_c", "rain_mm"])
def test_every_value_of_nclimgrid_is_what_both_libraries_read(kind, quantity):
    source = nclimgrid(kind)
    path = crop(THEIRS[quantity], kind)
    theirs = by_netcdf4(path, THEIRS[quantity])
    cells = every_cell(source, path)
    end = FIRST.replace(day=theirs.shape[1])

    block = source.fetch(Ask(cells, FIRST, end, date(2022, 6, 1)))

    ours = block.values[block.quantities.index(quantity)]
    assert ours.shape == (36 * 48, end.day)
    assert np.array_equal(ours, theirs, equal_nan=True)
    assert np.array_equal(ours, by_xarray(path, THEIRS[quantity]), equal_nan=True)
    assert np.isfinite(ours).all()


def test_a_cell_of_the_real_crop_has_its_number_in_the_whole_grid():
    # Of the strict validator's formula: i = round((lat - 24.5625) * 24), j likewise.
    source = nclimgrid("scaled")
    cells = every_cell(source, crop("tmax", "scaled"))

    assert (cells[0].row, cells[0].column) == (395, 725)
    assert all(cell.row == round((cell.lat - 24.5625) * 24) for cell in cells)
    assert all(cell.column == round((cell.lon + 124.6875) * 24) for cell in cells)


def test_the_scaled_month_revises_the_preliminary_one_by_as_much_as_it_really_did():
    # The real pair on 1 January 2022, by netCDF4 alone: scaled less prelim is +0.314 degC on
    # average, 0.319 in size, 1.02 at most for tmax; 1.19 on average for tmin; 0.82 mm at most.
    cells = every_cell(nclimgrid("prelim"), crop("tmax", "prelim"))
    ask = Ask(cells, FIRST, FIRST, date(2022, 6, 1))
    early, late = nclimgrid("prelim").fetch(ask), nclimgrid("scaled").fetch(ask)

    more = (late.values - early.values)[:, :, 0]

    assert more[0].mean() == pytest.approx(0.31, abs=0.005)
    assert np.abs(more[0]).mean() == pytest.approx(0.32, abs=0.005)
    assert np.abs(more[0]).max() == pytest.approx(1.02, abs=0.005)
    assert more[1].mean() == pytest.approx(1.19, abs=0.005)
    assert np.abs(more[2]).max() == pytest.approx(0.82, abs=0.005)
    assert early.status.tolist() == [[Status.PROVISIONAL]] * 3
    assert late.status.tolist() == [[Status.FINAL]] * 3
    assert early.issued is not None
    assert late.issued is not None
    assert early.issued.date() == date(2022, 1, 22)
    assert late.issued == datetime(2022, 5, 4, 9, 18, 3, 13985, tzinfo=UTC)
    assert early.fingerprint != late.fingerprint


def test_of_both_real_kinds_the_scaled_one_is_taken():
    source = nclimgrid("scaled", "prelim")
    cells = every_cell(source, crop("tmax", "prelim"))

    block = source.fetch(Ask(cells, FIRST, FIRST, date(2022, 6, 1)))

    assert np.array_equal(block.values[0], by_netcdf4(crop("tmax", "scaled"), "tmax")[:, :1])
    assert all("scaled" in name for name in block.origins)


def ncep(path):
    """The reanalysis as a source whose grid comes from the file."""
    return CfSource(
        Preset(
            name="ncep",
            title="NCEP",
            earliest=date(1981, 1, 1),
            files=(Files(where=str(path)),),
            habits=HABITS,
            variables={"tmax_c": Variable(name="air", units="K")},
        )
    )


def thinned(path, target):
    """The first of each day's four steps, copied bit by bit as packed."""
    with netCDF4.Dataset(path) as whole, netCDF4.Dataset(target, "w") as part:
        whole.set_auto_maskandscale(False)
        part.set_auto_maskandscale(False)
        for name, dimension in whole.dimensions.items():
            part.createDimension(name, 5 if name == "time" else len(dimension))
        for name, old in whole.variables.items():
            new = part.createVariable(name, old.dtype, old.dimensions)
            new.setncatts({k: old.getncattr(k) for k in old.ncattrs() if k != "_FillValue"})
            new[:] = old[::4] if "time" in old.dimensions else old[:]
    return target


def test_packed_values_north_first_from_0_to_360_are_what_netcdf4_unpacks(tmp_path):
    path = thinned(shared(NCEP), tmp_path / "days.nc")
    source = ncep(path)
    cells = every_cell(source, path)
    start = _first_day(path)

    block = source.fetch(Ask(cells, start, start.replace(day=start.day + 4), date(2020, 1, 1)))

    kelvin = by_netcdf4(path, "air")
    assert kelvin.shape == (25 * 53, 5)
    # xarray unpacks 16 bits in 32-bit arithmetic: 3e-5 K near 300 K
    assert np.abs(block.values[0] + 273.15 - kelvin).max() < 3e-5
    assert source.grid.lat_step == -2.5
    assert {cell.lon for cell in cells} >= {-160.0, -30.0}


def test_places_of_the_real_reanalysis_are_met_by_either_way_of_counting_longitude(tmp_path):
    path = thinned(shared(NCEP), tmp_path / "days.nc")
    source = ncep(path)
    ames = source.grid.snap(42.03, -93.62)
    assert ames is not None
    day = _first_day(path)

    block = source.fetch(Ask((ames,), day, day, date(2020, 1, 1)))

    with xarray.open_dataset(path, engine="netcdf4", decode_times=False) as file:
        near = file["air"].sel(lat=42.03, lon=360 - 93.62, method="nearest")[0]
    assert block.values[0, 0, 0] == pytest.approx(float(near) - 273.15, abs=1e-9)


def test_four_steps_a_day_are_refused_by_the_day():
    path = shared(NCEP)
    source = ncep(path)
    cell = source.grid.cell(0, 0)

    with pytest.raises(Unavailable, match=r"comes twice; one step a day in order is wanted"):
        source.fetch(Ask((cell,), date(2014, 2, 24), date(2014, 2, 24), date(2020, 1, 1)))


def normals(path, units):
    return CfSource(
        Preset(
            name="normals",
            title="Normals",
            earliest=date(1981, 1, 1),
            files=(Files(where=str(path), status="final"),),
            axes=Axes(time_units=units),
            habits=HABITS,
            variables={"tmax_c": Variable(name="dlytmax_norm", units="degC")},
        )
    )


def test_every_normal_is_read_once_the_preset_says_from_when_its_days_count():
    path = shared(NORMALS)
    source = normals(path, "days since 2019-12-31")
    cells = every_cell(source, path)

    block = source.fetch(Ask(cells, date(2020, 1, 1), date(2020, 1, 2), date(2021, 1, 1)))

    with netCDF4.Dataset(path) as file:
        file.set_auto_mask(False)
        theirs = file["dlytmax_norm"][0].astype(np.float64).ravel()
    assert len(theirs) == 36 * 48
    assert theirs.min() > -30
    assert np.array_equal(block.values[0, :, 0], theirs)
    assert np.isnan(block.values[0, :, 1]).all()


def test_days_that_count_from_nowhere_are_refused():
    path = shared(NORMALS)
    source = normals(path, None)

    with pytest.raises(Unavailable, match=r"time in 'days' cannot be read") as caught:
        source.fetch(
            Ask((source.grid.cell(0, 0),), date(2020, 1, 1), date(2020, 1, 1), date(2021, 1, 1))
        )
    assert not caught.value.retry_later


def _first_day(path: Path) -> date:
    with netCDF4.Dataset(path) as file:
        time = file["time"]
        moment = netCDF4.num2date(time[0], time.units, "standard")
    return date(moment.year, moment.month, moment.day)
