"""Each stand-in plays a fault in the manner of its own answers, and chance plays them alike."""

from __future__ import annotations

import json
import threading
from datetime import date, datetime, timedelta

import numpy as np
import pytest
import requests

from loopback import serve
from loopback.faults import FAULTS, WAY, Chaos
from loopback.public_server import SERVICES
from service.weather.public_rig import (
    GRIDMET,
    ask,
    axis,
    packed,
    power,
    with_fault,
)


@pytest.fixture
def server(well):
    return well


def test_power_says_what_its_fault_wants(server):
    right = power(server)
    tmax = right["properties"]["parameter"]["T2M_MAX"]

    units = power(server, "wrong_units")["parameters"]
    assert (units["T2M_MAX"]["units"], units["PRECTOTCORR"]["units"]) == ("F", "in/day")
    hidden = power(server, "hidden_wrong_units")
    assert hidden["parameters"] == right["parameters"]
    assert list(hidden["properties"]["parameter"]["T2M_MAX"].values()) == pytest.approx(
        [value * 1.8 + 32 for value in tmax.values()], abs=0.02
    )
    fill = power(server, "all_fill")["properties"]["parameter"]
    assert {value for series in fill.values() for value in series.values()} == {-999.0}
    revised = power(server, "revised")["properties"]["parameter"]["T2M_MAX"]
    assert list(revised.values()) == pytest.approx([v + 1.5 for v in tmax.values()], abs=0.02)
    assert "20260603" not in power(server, "day_missing")["properties"]["parameter"]["T2M_MAX"]
    assert "20260708" in power(server, "future_day")["properties"]["parameter"]["T2M_MAX"]
    assert power(server, "wrong_cell")["geometry"]["coordinates"][:2] != [-93.62, 42.03]
    assert np.isnan(power(server, "nan")["properties"]["parameter"]["T2M_MAX"]["20260601"])


@pytest.mark.parametrize("service", ["power", "nws", "openmeteo", "soilgrids", "sda"])
def test_a_duplicate_key_is_twice_in_the_json(server, service):
    got = with_fault(server, service, "duplicate_key")
    twice = []

    def pairs(items):
        keys = [key for key, _ in items]
        twice.extend(key for key in set(keys) if keys.count(key) > 1)
        return dict(items)

    json.loads(got.text, object_pairs_hook=pairs)
    assert len(twice) == 1


def test_gridmet_says_what_its_fault_wants(server):
    right = ask(server, "gridmet").text
    rows = packed(right)

    assert packed(with_fault(server, "gridmet", "all_fill").text) == ["32767"] * 5
    hidden = packed(with_fault(server, "gridmet", "hidden_wrong_units").text)
    in_c = [int(value) * 0.1 + 220 - 273.15 for value in rows]
    in_f = [int(value) * 0.1 + 220 - 273.15 for value in hidden]
    assert in_f == pytest.approx([value * 1.8 + 32 for value in in_c], abs=0.2)
    assert packed(with_fault(server, "gridmet", "nan").text)[0] == "NaN"
    assert len(packed(with_fault(server, "gridmet", "duplicate_key").text)) == 6
    gap = with_fault(server, "gridmet", "day_missing").text
    assert list(np.diff(axis(gap, "day"))) == [1.0, 2.0, 1.0]
    assert len(packed(gap)) == 4
    future = axis(with_fault(server, "gridmet", "future_day").text, "day")[-1]
    assert future == (date(2026, 7, 9) - date(1900, 1, 1)).days
    away = with_fault(server, "gridmet", "wrong_cell").text
    assert axis(away, "lat") != axis(right, "lat")
    das = requests.get(server.url("gridmet") + GRIDMET + ".das", timeout=5).text
    server.faults["gridmet"].append("wrong_units")
    other = requests.get(server.url("gridmet") + GRIDMET + ".das", timeout=5).text
    assert other == das.replace('units "K"', 'units "degF"')


def test_the_grid_point_says_what_its_fault_wants(server):
    right = ask(server, "nws").json()["properties"]

    units = with_fault(server, "nws", "wrong_units").json()["properties"]
    assert units["maxTemperature"]["uom"] == "wmoUnit:degF"
    assert units["maxTemperature"]["values"] == right["maxTemperature"]["values"]
    hidden = with_fault(server, "nws", "hidden_wrong_units").json()["properties"]
    assert hidden["maxTemperature"]["uom"] == "wmoUnit:degC"
    assert hidden["maxTemperature"]["values"][0]["value"] > 60
    gap = with_fault(server, "nws", "day_missing").json()["properties"]
    assert "2026-07-08" not in json.dumps(gap["maxTemperature"])
    assert "2026-07-08" in json.dumps(right["maxTemperature"])
    fill = with_fault(server, "nws", "all_fill").json()["properties"]
    assert {one["value"] for one in fill["quantitativePrecipitation"]["values"]} == {None}
    skewed = with_fault(server, "nws", "clock_skew").json()["properties"]["updateTime"]
    later = datetime.fromisoformat(skewed) - datetime.fromisoformat(right["updateTime"])
    assert later == timedelta(hours=9)
    assert with_fault(server, "nws", "wrong_cell").json()["properties"]["gridX"] == "1109"


def test_open_meteo_says_what_its_fault_wants(server):
    right = ask(server, "openmeteo").json()

    units = with_fault(server, "openmeteo", "wrong_units").json()["daily_units"]
    assert (units["temperature_2m_max"], units["precipitation_sum"]) == ("°F", "inch")
    gap = with_fault(server, "openmeteo", "day_missing").json()["daily"]["time"]
    assert "2026-07-09" in right["daily"]["time"]
    assert "2026-07-09" not in gap
    future = with_fault(server, "openmeteo", "future_day").json()["daily"]["time"]
    assert future[-1] == "2026-07-13"
    assert with_fault(server, "openmeteo", "wrong_cell").json()["latitude"] > 43
    fill = with_fault(server, "openmeteo", "all_fill").json()["daily"]["precipitation_sum"]
    assert set(fill) == {None}


def test_chance_plays_the_same_faults_for_the_same_seed():
    first, again, other = (Chaos(1 / 3, seed) for seed in (4, 4, 5))
    drawn = [first.next() for _ in range(3000)]

    assert drawn == [again.next() for _ in range(3000)]
    assert drawn != [other.next() for _ in range(3000)]
    assert 900 < sum(map(bool, drawn)) < 1100
    assert set(drawn) == {"", *FAULTS} - {"silent"}
    with pytest.raises(ValueError, match="no such fault: thunder"):
        Chaos(0.5, kinds=("thunder",))


def test_every_fault_is_answered_by_every_service(server):
    for service in SERVICES:
        for fault in FAULTS:
            if fault in {"silent", "truncated"}:
                continue
            server.faults[service].append(fault)
            ask(server, service)
            assert server.requests[-1].fault in {fault, "500"}
            assert fault not in WAY or server.requests[-1].fault == fault


def test_requests_are_written_down_and_faults_can_be_for_all(server):
    server.faults["all"].extend(["500", ""])
    statuses = [ask(server, name).status_code for name in ("power", "nws", "gridmet")]

    assert statuses == [500, 200, 200]
    assert [(r.service, r.fault, r.status) for r in server.requests] == [
        ("power", "500", 500),
        ("nws", "", 200),
        ("gridmet", "", 200),
    ]
    assert server.requests[2].path == GRIDMET + ".ascii"


def test_it_can_be_run_by_hand(capsys):
    stop = threading.Event()
    stop.set()

    assert serve.main(["--port", "0", "--today", "2026-07-06", "--chaos", "0.1"], stop) == 0
    printed = capsys.readouterr().out.splitlines()
    names = {line.removeprefix("export ").split("=")[0] for line in printed[:-1]}
    assert {"ROOTBOUND_GRIDMET_URL", "ROOTBOUND_NWS_URL", "ROOTBOUND_SURVEY_URL"} <= names
    assert all("=http://127.0.0.1:" in line for line in printed[:-1])
    assert "2026-07-06 09:30 UTC" in printed[-1]
