"""Each stand-in service answers as the recorded shapes do, key for key."""

from __future__ import annotations

import re
from datetime import date

import netCDF4
import numpy as np
import pytest
import xarray as xr

from loopback.climate import ClimatePlay
from loopback.public_server import PublicServer
from service.weather.shapes_rig import PLACE, SHAPES, TODAY, get, names, recorded

AGGREGATION = "/dodsC/agg_met_tmmx_1979_CurrentYear_CONUS.nc"
DAILY = "/api/temporal/daily/"


@pytest.fixture(scope="module")
def server():
    with PublicServer(ClimatePlay(), TODAY) as made:
        yield made


def test_power_point_and_its_refusal(server):
    shape = recorded("nasa_power_daily_point.json")
    del shape["properties"]["parameter"]["RH2M"], shape["parameters"]["RH2M"]
    query = {**PLACE, "community": "AG", "start": "20260601", "end": "20260605"}
    query["parameters"] = ",".join(shape["parameters"])
    given = get(server, "power", DAILY + "point", query).json()

    for document in (given, shape):
        for name, series in document["properties"]["parameter"].items():
            document["properties"]["parameter"][name] = list(series.values())
    assert names(given) == names(shape)
    assert given["parameters"] == shape["parameters"]

    wrong = get(server, "power", DAILY + "point", query | {"parameters": "FOO"})
    assert (wrong.status_code, wrong.json()) == (422, recorded("nasa_power_error_422.json"))


def test_power_regional_has_the_cells_centres(server):
    shape = recorded("nasa_power_daily_regional.json")
    query = {
        "latitude-min": "41.4",
        "latitude-max": "43.4",
        "longitude-min": "-94.8",
        "longitude-max": "-92.8",
        "community": "AG",
        "parameters": "PRECTOTCORR",
        "start": "20260701",
        "end": "20260702",
    }
    given = get(server, "power", DAILY + "regional", query).json()

    assert names(given) == names(shape)
    assert [f["geometry"]["coordinates"][:2] for f in given["features"][:3]] == [
        f["geometry"]["coordinates"][:2] for f in shape["features"][:3]
    ]
    several = query | {"parameters": "PRECTOTCORR,T2M_MAX"}
    assert get(server, "power", DAILY + "regional", several).status_code == 422


def test_gridmet_structure_and_attributes_to_the_letter(server):
    shape = (SHAPES / "gridmet_tmmx.dds").read_text()

    assert (
        get(server, "gridmet", AGGREGATION + ".das").text
        == (SHAPES / "gridmet_tmmx.das").read_text().rstrip("\n") + "\n"
    )
    given = get(server, "gridmet", AGGREGATION + ".dds").text
    days = (date(2026, 7, 4) - date(1979, 1, 1)).days + 1  # two days behind
    assert given.rstrip("\n") == re.sub(r"17354", str(days), shape).rstrip("\n")


def test_gridmet_numbers_of_one_cell(server):
    shape = (SHAPES / "gridmet_tmmx_point.ascii").read_text().strip().splitlines()
    wanted = "daily_maximum_temperature[17347:1:17350][177:1:177][748:1:748]"
    given = get(server, "gridmet", f"{AGGREGATION}.ascii?{wanted}").text.strip().splitlines()

    assert len(given) == len(shape)
    for line, like in zip(given, shape, strict=True):
        assert re.sub(r"\d+(\.\d+)?", "0", line) == re.sub(r"\d+(\.\d+)?", "0", like)


@pytest.mark.parametrize("box", ["[99999:1:99999][0:1:0][0:1:0]", "[0:1:0][585:1:585][0:1:0]"])
def test_gridmet_refuses_in_a_document_that_comes_with_http_200(server, box):
    got = get(server, "gridmet", f"{AGGREGATION}.ascii?daily_maximum_temperature{box}")
    like = re.sub(r"\d+", "0", (SHAPES / "gridmet_error.txt").read_text()).strip()

    assert got.status_code == 200
    assert re.sub(r"\d+", "0", got.text).strip() == like


def test_a_gridmet_year_reads_like_the_recorded_file(server, tmp_path):
    path = tmp_path / "tmmx_2026.nc"
    path.write_bytes(get(server, "gridmet", "/data/tmmx_2026.nc").content)
    with (
        netCDF4.Dataset(path) as given,
        netCDF4.Dataset(SHAPES / "gridmet_tmmx_synthetic_packed.nc") as shape,
    ):
        ours, like = given["air_temperature"], shape["daily_maximum_temperature"]
        assert (ours.dtype, ours.dimensions) == (like.dtype, like.dimensions)
        assert {n: ours.getncattr(n) for n in ours.ncattrs()} == {
            n: like.getncattr(n) for n in like.ncattrs() if n != "coordinates"
        }
        for axis in ("day", "lat", "lon"):
            attributes = {n: given[axis].getncattr(n) for n in given[axis].ncattrs()}
            assert attributes == {n: shape[axis].getncattr(n) for n in shape[axis].ncattrs()}
    with xr.open_dataset(path, engine="netcdf4") as data:
        here = data.air_temperature.sel(lat=42.025, lon=-93.6, method="nearest")
        assert str(data.day.values[-1])[:10] == "2026-07-04"
        assert 240 < float(here[0]) < 300 < float(here[-1]) < 320
        assert np.isnan(float(data.air_temperature.sel(lat=35, lon=-100, method="nearest")[0]))


def test_a_month_of_nclimgrid_reads_like_the_documented_file(server, tmp_path):
    path = tmp_path / "month.nc"
    path.write_bytes(get(server, "nclimgrid", "/2026/ncdd-202604-grd-scaled.nc").content)
    with xr.open_dataset(path, engine="netcdf4") as data:
        assert dict(data.sizes) == {"time": 30, "lat": 596, "lon": 1385}
        assert [str(data.time.values[i])[:10] for i in (0, -1)] == ["2026-04-01", "2026-04-30"]
        assert float(data.lat[0]) == 24.5625
        assert float(data.lat[-1]) == pytest.approx(49.354168, abs=1e-6)
        assert float(data.lon[-1]) == pytest.approx(-67.020836, abs=1e-5)
        for name, units in (("tmax", "degree_Celsius"), ("prcp", "millimeter")):
            assert data[name].dtype == np.float32
            assert data[name].dims == ("time", "lat", "lon")
            assert data[name].attrs["units"] == units
            assert np.isnan(data[name].encoding["_FillValue"])
        here = data.sel(lat=42.0, lon=-93.6, method="nearest")
        assert bool((here.tmax >= here.tmin).all())
        assert float(abs(here.tavg - (here.tmax + here.tmin) / 2).max()) < 0.01


def test_weather_service_points_and_grid_points(server):
    agent = {"User-Agent": "tests, someone@rootbound.example"}
    point = get(server, "nws", "/points/42.03,-93.62", headers=agent)
    shape = recorded("nws_points.json")
    grid = recorded("nws_gridpoint_forecastgriddata.json")
    for document in (shape, grid):
        del document["@context"]

    assert point.headers["Content-Type"] == "application/geo+json"
    assert names({k: v for k, v in point.json().items() if k != "@context"}) == names(shape)
    where = point.json()["properties"]
    path = f"/gridpoints/{where['gridId']}/{where['gridX']},{where['gridY']}"
    given = get(server, "nws", path, headers=agent).json()["properties"]
    assert list(given) == list(grid["properties"])
    for name, layer in grid["properties"].items():
        if isinstance(layer, dict) and layer.get("values"):
            assert given[name].get("uom") == layer.get("uom")
    assert isinstance(given["gridX"], str)
    lengths = {one["validTime"].split("/")[1] for one in given["temperature"]["values"]}
    assert {"PT1H", "PT2H"} <= lengths
    assert {one["validTime"][11:] for one in given["maxTemperature"]["values"]} == {
        "12:00:00+00:00/PT13H"
    }
    assert "P7DT22H" in {one["validTime"].split("/")[1] for one in given["heatIndex"]["values"]}


@pytest.mark.parametrize(
    ("path", "name"), [("/points/51.5,-0.12", "nws_problem_404_invalid_point.json")]
)
def test_weather_service_has_no_point_in_london(server, path, name):
    got, like = get(server, "nws", path), recorded(name)

    assert got.headers["Content-Type"] == "application/problem+json"
    assert {k: v for k, v in got.json().items() if k not in {"correlationId", "instance"}} == {
        k: v for k, v in like.items() if k not in {"correlationId", "instance"}
    }


def test_weather_service_wants_to_know_who_asks_and_nothing_it_does_not_know(server):
    assert get(server, "nws", "/points/42,-93", headers={"User-Agent": ""}).status_code == 403
    assert get(server, "nws", "/points/42,-93?x=1").status_code == 400
    moved = get(server, "nws", "/points/42.031234,-93.62", allow_redirects=False)
    assert moved.status_code == 301
    assert moved.headers["Location"] == "/nws/points/42.0312,-93.62"
