"""Stations whose humidity, wind or radiation was measured, in our names and units.

Sources: Holyoke, Colorado, 2020 (CoAgMET); De Bilt, 2016-2018 (KNMI); Chicago, 2001-2016 (R
package modeldata); a farm near Ames, Iowa, 1980-2020 (R package maRsden).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.season.values import DailyWeather
from rootbound_rules.water.air import wind_at_2m
from rootbound_rules.water.radiation import extraterrestrial

DATA = Path(__file__).resolve().parents[2].parent / "shared" / "data"
HOLYOKE = DATA / "weather" / "coagmet_hyk02_2020_daily_with_asce_et.csv"
DE_BILT = DATA / "weather" / "knmi_debilt_260_2016_2018_daily_raw_units.csv"
CHICAGO = DATA / "weather" / "chicago_2001_2016_daily_F_inHg_mph.csv"
AMES = DATA / "iowa" / "weather_1980_2020.csv"
FILES = (HOLYOKE, DE_BILT, CHICAGO, AMES)
MPH = 0.44704
Values = NDArray[np.float64]
Days = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Station:
    """One place with its days."""

    name: str
    about: str
    lat: float
    elevation_m: float
    weather: DailyWeather
    rain_year_mm: float
    """Rain of a usual year. [mm]"""

    @cached_property
    def months(self) -> NDArray[np.int64]:
        """Month of each day."""
        first = self.weather.start
        return np.array([(first + timedelta(d)).month for d in range(len(self.weather))])

    @cached_property
    def sun_above(self) -> Values:
        """Radiation above the air on each day. [MJ m-2 d-1]"""
        first, n = self.weather.start, len(self.weather)
        days = (first + timedelta(d) for d in range(n))
        return np.array([extraterrestrial(self.lat, day.timetuple().tm_yday) for day in days])

    @property
    def season(self) -> Days:
        """Days of May to September."""
        return (self.months >= 5) & (self.months <= 9)

    @property
    def summer(self) -> Days:
        """Days of June to August."""
        return (self.months >= 6) & (self.months <= 8)


def stations() -> tuple[Station, ...]:
    """Return the three places with measured humidity and wind."""
    return holyoke(), de_bilt(), chicago()


def holyoke() -> Station:
    """Return a year among irrigated fields on the high plains; wind is measured at 2 m.

    Its file has no rain: 450 mm a year is our own knowledge of the place.
    """
    table = _columns(HOLYOKE)
    weather = DailyWeather(
        start=date(2020, 1, 1),
        tmax_c=_numbers(table, "tmax"),
        tmin_c=_numbers(table, "tmin"),
        rain_mm=np.zeros(len(table["tmax"])),
        solar_mj=_numbers(table, "solar", 0.0864),
        rhmax_pct=_numbers(table, "rhmax", 100.0),
        rhmin_pct=_numbers(table, "rhmin", 100.0),
        wind_m_s=_numbers(table, "windrun", 1000.0 / 86400.0),
    )
    return Station("Holyoke", "semi-arid, irrigated", 40.49, 1138.0, weather, 450.0)


def de_bilt(mast_m: float = 10.0) -> Station:
    """Return three years of a humid place.

    Parameters
    ----------
    mast_m
        Height of the wind sensor, which the file does not tell; 10 is the standard. [m]
    """
    table = _columns(DE_BILT)
    rain = np.maximum(_numbers(table, "RH", 0.1), 0.0)  # -1 stands for a trace
    weather = DailyWeather(
        start=date(2016, 1, 1),
        tmax_c=_numbers(table, "TX", 0.1),
        tmin_c=_numbers(table, "TN", 0.1),
        rain_mm=rain,
        solar_mj=_numbers(table, "Q", 0.01),
        rhmax_pct=_numbers(table, "UX"),
        rhmin_pct=_numbers(table, "UN"),
        wind_m_s=_numbers(table, "FG", 0.1 * wind_at_2m(1.0, mast_m)),
    )
    yearly = float(rain.mean() * 365.25)
    return Station("De Bilt", "humid, by the North Sea", 52.10, 2.0, weather, yearly)


def chicago() -> Station:
    """Return fifteen years of an airport in a city by a lake; wind taken as at 10 m.

    It has no radiation, and the unit of its rain is unknown: 1000 mm a year is our own
    knowledge of the place.
    """
    table = _columns(CHICAGO)
    weather = DailyWeather(
        start=date.fromisoformat(table["date"][0]),
        tmax_c=(_numbers(table, "temp_max") - 32.0) / 1.8,
        tmin_c=(_numbers(table, "temp_min") - 32.0) / 1.8,
        rain_mm=np.zeros(len(table["date"])),
        dewpoint_c=(_numbers(table, "dew") - 32.0) / 1.8,
        wind_m_s=_numbers(table, "wind", MPH * wind_at_2m(1.0, 10.0)),
    )
    return Station("Chicago", "airport in a city, lakeside", 41.79, 188.0, weather, 1000.0)


def ames() -> Station:
    """Return 41 years of the Iowa trial: radiation, but no humidity and no wind."""
    table = _columns(AMES)
    rain = _numbers(table, "rain_mm")
    weather = DailyWeather(
        start=date(1980, 1, 1),
        tmax_c=_numbers(table, "maxt_c"),
        tmin_c=_numbers(table, "mint_c"),
        rain_mm=rain,
        solar_mj=_numbers(table, "radn_MJm2"),
    )
    yearly = float(rain.mean() * 365.25)
    return Station("Ames", "Iowa, among fields", 42.02, 315.0, weather, yearly)


def _columns(path: Path) -> dict[str, list[str]]:
    """Return the columns of a file as text."""
    with path.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    return {name: [row[name] for row in rows] for name in rows[0]}


def _numbers(table: dict[str, list[str]], name: str, factor: float = 1.0) -> Values:
    """Return one column as numbers."""
    return factor * np.array(table[name], dtype=np.float64)
