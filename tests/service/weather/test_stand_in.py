"""The stand-in service and its invented climate are like what they stand for."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
import requests

from loopback.climate import ClimatePlay
from loopback.plays import csv_play
from loopback.power_server import PATH, PowerServer
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.quality.check import Context, check_block
from service.weather.weather_rig import block_of

SHAPES = Path(__file__).parents[3] / "fixtures" / "shapes"
QUERY = {
    "parameters": "T2M_MAX,ALLSKY_SFC_SW_DWN",
    "community": "AG",
    "longitude": "-93.62",
    "latitude": "42.03",
    "start": "20260701",
    "end": "20260705",
    "format": "JSON",
    "time-standard": "LST",
    "user": "tester",
}
AMES = (42.0, -93.75)


def keys(document):
    """Names in their order, all the way down; days and parameters are data, not names."""
    if not isinstance(document, dict):
        return type(document).__name__
    return {
        name: keys(part) for name, part in document.items() if name not in {"parameter", "RH2M"}
    }


def test_an_answer_has_the_recorded_shape_key_for_key(server):
    recorded = json.loads((SHAPES / "nasa_power_daily_point.json").read_text())
    names = ",".join(name for name in recorded["parameters"] if name != "RH2M")

    given = requests.get(server.url + PATH, params=QUERY | {"parameters": names}, timeout=5).json()

    assert json.dumps(keys(given)) == json.dumps(keys(recorded))
    assert given["header"]["title"] == recorded["header"]["title"]
    assert list(given["properties"]["parameter"]["T2M_MAX"]) == list(
        recorded["properties"]["parameter"]["T2M_MAX"]
    )
    for name, facts in given["parameters"].items():
        assert facts == recorded["parameters"][name]


def test_the_last_days_are_fill_radiation_longer_than_temperature(server):
    server.today = date(2026, 7, 7)

    given = requests.get(server.url + PATH, params=QUERY, timeout=5).json()

    table = given["properties"]["parameter"]
    assert list(table["T2M_MAX"].values()) == [27.0, 27.0, 27.0, 27.0, -999.0]
    assert list(table["ALLSKY_SFC_SW_DWN"].values()) == [20.0, -999.0, -999.0, -999.0, -999.0]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"parameters": "T2M_MAX,FOO"}, "One of your parameters is incorrect: FOO."),
        ({"latitude": "91"}, "Please provide a valid latitude."),
        ({"start": "19801231"}, "Please provide a valid start and end date."),
        ({"user": "anonymous"}, "Please supply a different user name; reserved names"),
    ],
)
def test_a_wrong_request_is_refused_in_the_recorded_shape(server, change, message):
    recorded = json.loads((SHAPES / "nasa_power_error_422.json").read_text())

    got = requests.get(server.url + PATH, params=QUERY | change, timeout=5)

    assert got.status_code == 422
    assert keys(got.json()) == keys(recorded)
    assert message in got.json()["messages"][0]


@pytest.fixture(scope="module")
def thirty_years():
    return ClimatePlay()(*AMES, date(1991, 1, 1), date(2020, 12, 31))


def monthly(values, month):
    days = [date(1991, 1, 1) + timedelta(days=i) for i in range(len(values))]
    return values[[day.month == month for day in days]]


def test_the_climate_is_humid_and_continental(thirty_years):
    rain = thirty_years["rain_mm"]

    assert 780 < rain.sum() / 30 < 930
    assert 0.30 < (rain > 0).mean() < 0.36
    for month in (5, 6, 7, 8):
        assert 75 < monthly(rain, month).sum() / 30 < 140
    assert 28 < monthly(thirty_years["tmax_c"], 7).mean() < 31
    assert monthly(thirty_years["tmin_c"], 1).mean() < -9
    assert 2.0 < thirty_years["wind_m_s"].mean() < 3.0


def test_its_days_hang_together(thirty_years):
    wet = thirty_years["rain_mm"] > 0
    july = np.array([(date(1991, 1, 1) + timedelta(days=i)).month == 7 for i in range(len(wet))])
    tmax = thirty_years["tmax_c"]

    solar = thirty_years["solar_mj"]
    assert solar[july & wet].mean() < 0.8 * solar[july & ~wet].mean()
    assert np.corrcoef(tmax[july][:-1], tmax[july][1:])[0, 1] > 0.4
    values = np.stack([thirty_years[name] for name in QUANTITY_NAMES])[:, None]
    assert not check_block(block_of(values, date(1991, 1, 1)), Context()).any()


def test_the_same_place_has_the_same_days_however_they_are_asked_for():
    whole = ClimatePlay({2026: "wet"})(*AMES, date(2024, 2, 28), date(2026, 12, 31))
    part = ClimatePlay({2026: "wet"})(*AMES, date(2026, 7, 1), date(2026, 7, 3))
    offset = (date(2026, 7, 1) - date(2024, 2, 28)).days

    assert len(whole["rain_mm"]) == (date(2026, 12, 31) - date(2024, 2, 28)).days + 1
    for name, values in part.items():
        assert list(values) == list(whole[name][offset : offset + 3])


def test_neighbours_share_their_wet_days_and_differ_in_amounts():
    here = ClimatePlay()(*AMES, date(2026, 1, 1), date(2026, 12, 31))["rain_mm"]
    there = ClimatePlay()(42.5, -93.125, date(2026, 1, 1), date(2026, 12, 31))["rain_mm"]

    assert ((here > 0) == (there > 0)).all()
    assert 0.5 < np.corrcoef(here, there)[0, 1] < 0.999


def between(play, year, first, last, name="rain_mm"):
    return play(*AMES, date(year, *first), date(year, *last))[name]


@pytest.mark.parametrize("seed", range(5))
def test_a_dry_july_is_wet_at_planting_dry_at_v3_to_v6_and_dry_and_hot_at_silking(seed):
    play = ClimatePlay({2026: "dry_july"}, seed=seed)
    planting = between(play, 2026, (4, 12), (5, 12))

    assert planting.sum() == pytest.approx(135)
    assert 12 <= (planting > 0).sum() <= 19
    assert between(play, 2026, (5, 21), (6, 5)).sum() < 5
    assert between(play, 2026, (6, 6), (7, 3)).sum() == pytest.approx(130)
    assert between(play, 2026, (7, 4), (7, 29)).sum() < 14
    assert between(play, 2026, (7, 30), (8, 14)).sum() == pytest.approx(165)
    assert between(play, 2026, (7, 4), (7, 29), "tmax_c").mean() > 29


@pytest.mark.parametrize("seed", range(5))
def test_a_wet_year_rains_every_few_days_through_the_season(seed):
    rain = between(ClimatePlay({2026: "wet"}, seed=seed), 2026, (4, 10), (9, 20))
    dry_for = np.diff(np.flatnonzero(np.r_[True, rain > 0, True]))

    assert rain.sum() == pytest.approx(895)
    assert 2.3 < (rain > 0).mean() * 7 < 4.0
    assert dry_for.max() < 13


def test_a_file_of_real_days_is_played_without_humidity_and_wind(tmp_path):
    path = tmp_path / "days.csv"
    path.write_text(
        "date,year,day,radn_MJm2,maxt_c,mint_c,rain_mm\n"
        "1988-07-01,1988,183,28.1,33.0,17.5,0\n"
        "1988-07-02,1988,184,,31.0,16.5,4.2\n"
    )
    play = csv_play(path, 315.0)
    with PowerServer(play, date(1988, 12, 31)) as server:
        query = QUERY | {
            "parameters": "T2M_MAX,T2MDEW,WS2M,PRECTOTCORR,ALLSKY_SFC_SW_DWN",
            "start": "19880701",
            "end": "19880703",
        }
        given = requests.get(server.url + PATH, params=query, timeout=5).json()

    table = {name: list(days.values()) for name, days in given["properties"]["parameter"].items()}
    assert table == {
        "T2M_MAX": [33.0, 31.0, -999.0],
        "T2MDEW": [-999.0] * 3,
        "WS2M": [-999.0] * 3,
        "PRECTOTCORR": [0.0, 4.2, -999.0],
        "ALLSKY_SFC_SW_DWN": [28.1, -999.0, -999.0],
    }
    assert given["geometry"]["coordinates"][2] == 315.0
