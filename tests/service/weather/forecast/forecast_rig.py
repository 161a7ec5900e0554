"""Recorded shapes of forecasts, and questions to hold them against."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from rootbound_service.public.http import Reply
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.day import Forecast
from rootbound_service.weather.forecast.nws_answer import Question, read_grid
from rootbound_service.weather.forecast.nws_points import GridPoint

SHAPES = Path(__file__).parents[4] / "fixtures" / "shapes"
CHICAGO = ZoneInfo("America/Chicago")
NOW = datetime(2026, 7, 6, 10, tzinfo=UTC)
PLACE = (42.03, -93.62)
WHO = "them, there"


def shape(name):
    return json.loads((SHAPES / f"{name}.json").read_text())


def raw(name):
    return (SHAPES / f"{name}.json").read_bytes()


def grid():
    return shape("nws_gridpoint_forecastgriddata")


def read(document, now=NOW, zone=CHICAGO, place=PLACE):
    """Read a grid's answer as the National Weather Service's."""
    body = document if isinstance(document, bytes) else json.dumps(document).encode()
    point = GridPoint("DMX", 73, 71, zone)
    return read_grid(Reply(200, body, "application/geo+json"), Question(*place, point, now, WHO))


def column(forecast, name):
    """Give a quantity's days of the first member."""
    return forecast.values[QUANTITY_NAMES.index(name), 0]


def made(forecast, name):
    return list(forecast.made[QUANTITY_NAMES.index(name)])


def layer(unit, *entries):
    """Write a layer from pairs of an interval and a value."""
    return {
        "uom": f"wmoUnit:{unit}",
        "values": [{"validTime": when, "value": value} for when, value in entries],
    }


def forecast(rain, issued=NOW, start=date(2026, 7, 6), source="nws", partial=(), fetched=None):
    """Make a forecast that says only rain, by member and day."""
    rain = np.atleast_2d(np.array(rain, dtype=float))
    values = np.full((len(QUANTITY_NAMES), *rain.shape), np.nan)
    values[2] = rain
    made = np.zeros((len(QUANTITY_NAMES), rain.shape[1]), np.uint8)
    made[2, list(partial)] = 2
    return Forecast(
        source=source,
        lat=PLACE[0],
        lon=PLACE[1],
        issued=issued,
        fetched=fetched or issued,
        start=start,
        quantities=QUANTITY_NAMES,
        values=values,
        made=made,
        where="DMX/73,71",
    )
