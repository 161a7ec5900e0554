"""gridMET's yearly files, held to an independent reading, and files that are none."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import netCDF4
import numpy as np
import pytest
import responses
import xarray as xr

from rootbound_service.public.http import Caller, Patience, Unavailable
from rootbound_service.weather.day import QUANTITY_NAMES, Ask
from rootbound_service.weather.sources.gridmet_file import GridMetFiles, read_file
from rootbound_service.weather.sources.gridmet_files import FolderFiles, ServerFiles
from rootbound_service.weather.sources.gridmet_names import GRID, TMAX, VARIABLES
from service.weather.sources.gridmet_rig import CELL, PACKING, SHAPES

SAMPLE = SHAPES / "gridmet_tmmx_synthetic_packed.nc"
NINE = tuple(GRID.cell(row, column) for row in (176, 177, 178) for column in (747, 748, 749))
ON = date(2026, 9, 1)
ASK = Ask(NINE, date(2026, 7, 1), date(2026, 7, 8), ON)


def test_the_sample_reads_as_an_independent_reader_decodes_it():
    ours = read_file(SAMPLE, TMAX, ASK, "gridMET")

    with xr.open_dataset(SAMPLE, engine="netcdf4") as decoded:
        theirs = decoded["daily_maximum_temperature"].to_numpy().reshape(4, 9).T
        days = decoded["day"].to_numpy().astype("datetime64[D]")
    into = (days - np.datetime64(ASK.start)).astype(int)
    np.testing.assert_allclose(ours[:, into], theirs, atol=2e-5)  # theirs may be float32
    assert np.isnan(ours[:, into[-1]]).all()  # the sample's last day is fill
    assert np.isfinite(ours[:, into[:-1]]).all()


def test_the_sample_says_the_same_of_its_middle_cell_as_the_ascii_sample():
    middle = read_file(
        SAMPLE, TMAX, Ask((CELL,), date(2026, 7, 3), date(2026, 7, 6), ON), "gridMET"
    )

    np.testing.assert_allclose(middle[0], [301.2, 303.5, 299.0, np.nan])


def yearly(folder: Path, year=2024, first=date(2024, 2, 27), days=4):
    """Write a packed file of every variable, its numbers row + 10 column + day."""
    folder.mkdir(parents=True, exist_ok=True)
    base = {"tmmx": 780, "tmmn": 760, "rmax": 900, "rmin": 400}
    for variable in VARIABLES:
        units, scale, offset = PACKING[variable.short]
        with netCDF4.Dataset(folder / f"{variable.short}_{year}.nc", "w") as file:
            for name, size in (("day", days), ("lat", 3), ("lon", 3)):
                file.createDimension(name, size)
                file.createVariable(name, "f8", (name,))
            file["day"].units = "days since 1900-01-01 00:00:00"
            start = (first - date(1900, 1, 1)).days
            file["day"][:] = np.arange(start, start + days)
            file["lat"][:] = [GRID.cell(row, 0).lat for row in (176, 177, 178)]
            file["lon"][:] = [GRID.cell(0, column).lon for column in (747, 748, 749)]
            cube = file.createVariable("some_name", "u2", ("day", "lat", "lon"), fill_value=32767)
            cube.set_auto_maskandscale(False)
            cube.setncatts({"units": units, "scale_factor": scale, "add_offset": offset})
            cube.setncattr("_Unsigned", "true")
            day, row, column = np.meshgrid(range(days), range(3), range(3), indexing="ij")
            cube[:] = base.get(variable.short, 20) + row + 10 * column + 100 * (day % 2)


def test_all_files_of_a_year_make_a_block_with_its_leap_day(tmp_path):
    yearly(tmp_path)
    cells = (NINE[0], NINE[5])
    block = GridMetFiles(FolderFiles(tmp_path)).fetch(
        Ask(cells, date(2024, 2, 26), date(2024, 3, 2), ON)
    )

    rain = block.values[QUANTITY_NAMES.index("rain_mm")]
    # 27 Feb to 1 March 2024 with 29 Feb between; 26 Feb and 2 March are not in the file
    np.testing.assert_allclose(rain[0], [np.nan, 2.0, 12.0, 2.0, 12.0, np.nan])
    np.testing.assert_allclose(rain[1], rain[0] + 0.1 * (1 + 20))
    assert np.isfinite(block.values[:, :, 1:5]).all()
    assert block.origins[0] == "tmmx_2024.nc"


def test_what_is_wanted_is_cut_by_year_and_tile():
    far = GRID.cell(300, 300)
    ask = Ask((*NINE, far), date(2023, 5, 1), date(2024, 12, 31), ON)

    asks = list(GridMetFiles(FolderFiles(Path("nowhere"))).split(ask))

    spans = [(one.start, one.end) for one in asks if far in one.cells]
    assert spans == [(date(2023, 5, 1), date(2023, 12, 31)), (date(2024, 1, 1), date(2024, 12, 31))]
    assert sum(len(one.cells) * one.days for one in asks) == 10 * ask.days


def refusal(path, ask=ASK):
    with pytest.raises(Unavailable) as caught:
        read_file(path, TMAX, ask, "gridMET, file")
    return caught.value.what


def test_a_cell_that_is_not_in_the_file_is_refused():
    assert "is not in the file" in refusal(SAMPLE, Ask((GRID.cell(1, 1),), ASK.start, ASK.end, ON))


@pytest.mark.parametrize("content", [b"", b"<html></html>", SAMPLE.read_bytes()[:3000]])
def test_a_file_that_is_none_or_was_cut_is_refused(tmp_path, content):
    path = tmp_path / "tmmx_2026.nc"
    path.write_bytes(content)

    assert "cannot be read" in refusal(path)


@pytest.mark.parametrize(
    ("spoil", "what"),
    [
        (lambda f: f["daily_maximum_temperature"].setncattr("units", "F"), "'F', a unit"),
        (lambda f: f["day"].setncattr("units", "bananas"), "days are not dates"),
        (lambda f: f["day"].setncattr("units", "days since 9999-99-99"), "cannot be read"),
        (lambda f: f["day"].delncattr("units"), "days are not dates"),
        (lambda f: f["day"].__setitem__(1, f["day"][0]), "do not follow each other"),
        (lambda f: f["daily_maximum_temperature"].delncattr("scale_factor"), "how it is packed"),
        (lambda f: f.createVariable("b", "f4", ("day", "lat", "lon")), "not one variable"),
        (lambda f: f.renameVariable("lat", "y"), "is not in the file"),
    ],
)
def test_a_file_of_another_shape_is_refused_by_name(tmp_path, spoil, what):
    path = Path(shutil.copy(SAMPLE, tmp_path / "tmmx_2026.nc"))
    with netCDF4.Dataset(path, "a") as file:
        file.set_auto_maskandscale(False)
        spoil(file)

    assert what in refusal(path)


def test_a_missing_file_of_a_folder_is_told(tmp_path):
    with pytest.raises(Unavailable, match=r"tmmx_2026\.nc: is not in the folder of yearly files"):
        GridMetFiles(FolderFiles(tmp_path)).fetch(ASK)


def download(tmp_path, *days, status=200):
    """Ask a server for a file on some days; gives the paths and how often it was asked."""
    with responses.RequestsMock() as mock:
        mock.get("http://127.0.0.1/data/tmmx_2025.nc", body=SAMPLE.read_bytes(), status=status)
        caller = Caller(Patience(retries=0))
        files = ServerFiles(caller, "http://127.0.0.1/data/", tmp_path / "kept")
        try:
            return [files.path("tmmx", 2025, on, "gridMET") for on in days], len(mock.calls)
        finally:
            caller.close()


def test_a_settled_year_is_downloaded_once(tmp_path):
    paths, asked = download(tmp_path, date(2026, 7, 1), date(2026, 8, 1))

    assert asked == 1
    assert paths[0] == paths[1]
    assert paths[0].read_bytes() == SAMPLE.read_bytes()


def test_a_year_that_still_changes_is_had_anew_on_another_day(tmp_path):
    paths, asked = download(tmp_path, date(2026, 2, 1), date(2026, 2, 1), date(2026, 2, 2))

    assert asked == 2
    assert [path.name for path in (tmp_path / "kept").iterdir()] == [paths[2].name]


def test_a_file_that_the_server_has_not_is_told_and_not_kept(tmp_path):
    with pytest.raises(Unavailable, match="HTTP 404") as caught:
        download(tmp_path, date(2026, 7, 1), status=404)

    assert not caught.value.retry_later
    assert not list((tmp_path / "kept").iterdir())
