"""Questions that each stand-in service answers, and how a test asks them."""

from __future__ import annotations

from datetime import date

import requests

TODAY = date(2026, 7, 6)
DAILY = "/api/temporal/daily/point"
POWER_QUERY = {
    "latitude": "42.03",
    "longitude": "-93.62",
    "community": "AG",
    "start": "20260601",
    "end": "20260605",
    "parameters": "T2M_MAX,PRECTOTCORR",
}
GRIDMET = "/dodsC/agg_met_tmmx_1979_CurrentYear_CONUS.nc"
ROWS = "daily_maximum_temperature[17300:1:17304][177:1:177][748:1:748]"
METEO = {
    "latitude": "42.03",
    "longitude": "-93.62",
    "daily": "temperature_2m_max,precipitation_sum",
    "timezone": "America/Chicago",
}
SURVEY = "SELECT mukey, muname FROM mapunit WHERE mukey = 900101"
ASKING = {
    "power": (DAILY, POWER_QUERY),
    "gridmet": (f"{GRIDMET}.ascii?{ROWS}", None),
    "nclimgrid": ("/2026/ncdd-202606-grd-prelim.nc", None),
    "nws": ("/gridpoints/ALD/1079,801", None),
    "openmeteo": ("/v1/forecast", METEO),
    "soilgrids": ("/soilgrids/v2.0/properties/query", {"lat": "42.03", "lon": "-93.62"}),
}


def ask(server, service, timeout=5.0):
    if service == "sda":
        url = server.url(service) + "/Tabular/post.rest"
        return requests.post(url, json={"query": SURVEY, "format": "JSON"}, timeout=timeout)
    path, query = ASKING[service]
    return requests.get(server.url(service) + path, params=query, timeout=timeout)


def with_fault(server, service, fault):
    server.faults[service].append(fault)
    got = ask(server, service)
    assert server.requests[-1].fault == fault, "the shape does not bear this fault"
    return got


def power(server, fault=""):
    if not fault:
        return ask(server, "power").json()
    return with_fault(server, "power", fault).json()


def packed(text):
    lines = text.splitlines()
    return [line.split(", ")[1] for line in lines if line.startswith("[")]


def axis(text, name):
    lines = text.splitlines()
    at = next(i for i, line in enumerate(lines) if f".{name}[" in line and line[0] != " ")
    return [float(value) for value in lines[at + 1].split(",")]
