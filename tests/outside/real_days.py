"""Real daily files beside the project in our names and units, for checks and filling.

Sources: Marsden farm near Ames, Iowa (R package maRsden); Chicago (R package modeldata);
Holyoke, Colorado (CoAgMET); De Bilt (KNMI). Their README names the licences.
"""

from __future__ import annotations

import csv
from datetime import date

import numpy as np

from outside.cases import shared
from rootbound_service.weather.cells import Cell
from rootbound_service.weather.day import Block

IOWA = "iowa/weather_1980_2020.csv"
CHICAGO = "weather/chicago_2001_2016_daily_F_inHg_mph.csv"
HOLYOKE = "weather/coagmet_hyk02_2020_daily_with_asce_et.csv"
DE_BILT = "weather/knmi_debilt_260_2016_2018_daily_raw_units.csv"
MPH = 0.44704


def columns(path):
    """The columns of a file as text."""
    with shared(path).open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    return {name: [row[name] for row in rows] for name in rows[0]}


def numbers(table, name, factor=1.0):
    """One column as numbers."""
    return factor * np.array(table[name], dtype=float)


def block_of(start, **quantities):
    """An answer of one cell."""
    values = np.stack(list(quantities.values()))[:, None, :]
    status = np.full((len(values), values.shape[2]), 2, np.uint8)
    return Block(
        "real", (Cell("real", 0, 0, 42.0, -93.0),), start, tuple(quantities), values, status
    )


def iowa():
    """Forty-one years; no humidity, no wind."""
    table = columns(IOWA)
    return block_of(
        date(1980, 1, 1),
        tmax_c=numbers(table, "maxt_c"),
        tmin_c=numbers(table, "mint_c"),
        rain_mm=numbers(table, "rain_mm"),
        solar_mj=numbers(table, "radn_MJm2"),
    )


def chicago():
    """Fifteen years of temperatures, dew point and wind; its rain is in an unknown unit."""
    table = columns(CHICAGO)
    return block_of(
        date.fromisoformat(table["date"][0]),
        tmax_c=(numbers(table, "temp_max") - 32) / 1.8,
        tmin_c=(numbers(table, "temp_min") - 32) / 1.8,
        dewpoint_c=(numbers(table, "dew") - 32) / 1.8,
        wind_m_s=numbers(table, "wind", MPH),
    )


def dewpoint(vapour_kpa):
    """Dew point of a vapour pressure, FAO-56 Eq. 14 turned round."""
    x = np.log(vapour_kpa / 0.6108)
    return 237.3 * x / (17.27 - x)


def saturation(celsius):
    """FAO-56 Eq. 11."""
    return 0.6108 * np.exp(17.27 * celsius / (celsius + 237.3))


def holyoke():
    """One year in irrigated maize country, 1138 m above the sea."""
    table = columns(HOLYOKE)
    tmax, tmin = numbers(table, "tmax"), numbers(table, "tmin")
    vapour = saturation(tmin) * numbers(table, "rhmax") + saturation(tmax) * numbers(table, "rhmin")
    return block_of(
        date(2020, 1, 1),
        tmax_c=tmax,
        tmin_c=tmin,
        solar_mj=numbers(table, "solar", 0.0864),
        dewpoint_c=dewpoint(vapour / 2),
        wind_m_s=numbers(table, "windrun", 1000 / 86400),
    )


def de_bilt():
    """Three years on the Dutch coast's plain; rain of -1 is a trace."""
    table = columns(DE_BILT)
    mean = numbers(table, "TG", 0.1)
    return block_of(
        date(2016, 1, 1),
        tmax_c=numbers(table, "TX", 0.1),
        tmin_c=numbers(table, "TN", 0.1),
        rain_mm=np.maximum(numbers(table, "RH", 0.1), 0.0),
        solar_mj=numbers(table, "Q", 0.01),
        dewpoint_c=dewpoint(saturation(mean) * numbers(table, "UG", 0.01)),
        wind_m_s=numbers(table, "FG", 0.1),
    )
