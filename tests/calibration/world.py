"""An invented world whose climate is known to the last number: the truth to judge outlooks by.

Every number below is made up, near what the western half of the Corn Belt and the plains
beyond it have; none is measured. Rain is a two-state chain of dry and wet days with gamma
amounts, both by month (the usual form of such generators: Richardson 1981, Water Resources
Research 17:182-190, cited from memory). Temperature is a yearly wave with a memory of a few
days; radiation, dew point and wind follow from whether the day is wet. Years are independent
draws: what a season did so far says nothing of what it will do, but for yesterday's wet or
dry sky and the few days' memory of temperature.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.values import DailyWeather
from rootbound_rules.water.radiation import clear_sky, extraterrestrial

Days = NDArray[np.float64]
PAST_YEARS = 30
TRUTH_YEAR = 2030
FIRST_YEAR = TRUTH_YEAR - PAST_YEARS
ELEVATION_M = 300.0
MEMORY = 0.7
"""Of temperature, from one day to the next. [-]"""
DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
SERIES = ("tmax_c", "tmin_c", "rain_mm", "solar_mj", "dewpoint_c", "wind_m_s")


@dataclass(frozen=True)
class Climate:
    """Numbers of one invented climate; twelve values are January to December."""

    name: str
    lat: float
    rain_mm: tuple[float, ...]
    """Of a month."""
    wet_share: tuple[float, ...]
    """Share of days with rain."""
    persistence: float
    """How much likelier rain is after a wet day than after a dry one. [-]"""
    shape: float
    """Of the gamma amounts. [-]"""
    mean_c: float
    swing_c: float
    range_c: float
    """Highest minus lowest temperature of a dry day."""
    dew_gap_c: float
    """Lowest temperature minus dew point of a dry summer day."""
    wind_m_s: float
    black_layer_gdd_f: float
    """Of the hybrids sown there."""


_WET_SHARE = (0.27, 0.27, 0.32, 0.36, 0.38, 0.35, 0.31, 0.29, 0.28, 0.27, 0.28, 0.28)
CLIMATES = (
    Climate(
        "humid", 41.5, (60, 60, 90, 125, 150, 155, 155, 140, 110, 90, 85, 70),
        tuple(1.2 * w for w in _WET_SHARE), 0.20, 0.75, 9.8, 13.0, 9.5, 0.3, 1.8, 2400.0,
    ),
    Climate(
        "middling", 41.5, (30, 32, 60, 100, 130, 140, 135, 120, 90, 70, 52, 38),
        tuple(1.1 * w for w in _WET_SHARE), 0.20, 0.72, 9.5, 13.8, 10.5, 0.8, 2.0, 2400.0,
    ),
    Climate(
        "dry summer", 40.5, (40, 42, 70, 110, 130, 125, 100, 88, 74, 64, 56, 46),
        _WET_SHARE, 0.24, 0.70, 10.5, 13.5, 11.5, 1.2, 2.2, 2500.0,
    ),
    Climate(
        "dry", 40.5, (14, 16, 38, 66, 104, 104, 96, 80, 50, 34, 22, 16),
        tuple(0.85 * w for w in _WET_SHARE), 0.22, 0.68, 10.5, 13.5, 13.5, 2.5, 2.6, 2500.0,
    ),
)  # fmt: skip
"""Four invented climates, from humid to dry."""


def weather_years(climate: Climate, years: int, rng: Generator) -> dict[str, Days]:
    """Draw independent years of daily weather.

    Parameters
    ----------
    climate
        Where.
    years
        How many.
    rng
        Source of chance.

    Returns
    -------
    dict
        ``SERIES`` by name, each of shape (years, 366): a year begins in the sky and the
        temperature of its own draw, not in those of the year before.
    """
    month = _month_of_day()
    wet = _wet_days(climate, years, month, rng)
    mean_mm = np.array(climate.rain_mm) / (DAYS_IN_MONTH * np.array(climate.wet_share))
    amounts = rng.gamma(climate.shape, mean_mm[month] / climate.shape, wet.shape)
    tmax, tmin = _temperatures(climate, wet, rng)
    gap = np.where(wet, -0.3, climate.dew_gap_c) + rng.normal(0.0, 1.2, wet.shape)
    return {
        "tmax_c": tmax,
        "tmin_c": tmin,
        "rain_mm": np.where(wet, np.maximum(amounts, 0.3), 0.0),
        "solar_mj": _radiation(climate, wet, rng),
        "dewpoint_c": tmin - np.maximum(gap, -1.0),
        "wind_m_s": climate.wind_m_s * rng.lognormal(-0.06, 0.35, wet.shape),
    }


def demand_of(climate: Climate, rng: Generator, truth: Climate | None = None) -> Demand:
    """Draw the past years of a place and the year that comes true, in the daily step's terms.

    Parameters
    ----------
    climate
        Of the past years.
    rng
        Source of chance.
    truth
        Climate of the year that comes true; None for the same. Another one is how a test
        shows that these scores can fail.

    Returns
    -------
    Demand
        1 January ``FIRST_YEAR`` to 31 December ``TRUTH_YEAR``.
    """
    past = weather_years(climate, PAST_YEARS, rng)
    true = weather_years(truth or climate, 1, rng)
    lengths = [
        (date(year + 1, 1, 1) - date(year, 1, 1)).days for year in range(FIRST_YEAR, TRUTH_YEAR + 1)
    ]
    columns = {
        name: np.concatenate(
            [row[:n] for row, n in zip(np.vstack([past[name], true[name]]), lengths, strict=True)]
        )
        for name in SERIES
    }
    weather = DailyWeather(date(FIRST_YEAR, 1, 1), **columns)
    return cell_demand(weather, climate.lat, ELEVATION_M, *heat_limits("maize"), loop=demand_loop)


def _month_of_day() -> NDArray[np.int64]:
    """Month (0-11) of each of 366 days; the last day stands for a leap year's."""
    return np.minimum(np.repeat(np.arange(12), DAYS_IN_MONTH + (np.arange(12) == 11)), 11)


def _wet_days(
    climate: Climate, years: int, month: NDArray[np.int64], rng: Generator
) -> NDArray[np.bool_]:
    """A chain of wet and dry days with the month's share of wet ones."""
    share = np.array(climate.wet_share)[month]
    after_wet = share + climate.persistence * (1.0 - share)
    after_dry = share * (1.0 - climate.persistence)
    draws = rng.random((years, len(month)))
    wet = np.empty(draws.shape, bool)
    wet[:, 0] = draws[:, 0] < share[0]
    for day in range(1, len(month)):
        wet[:, day] = draws[:, day] < np.where(wet[:, day - 1], after_wet[day], after_dry[day])
    return wet


def _temperatures(climate: Climate, wet: NDArray[np.bool_], rng: Generator) -> tuple[Days, Days]:
    """Highest and lowest of each day: a wave, a memory, and clouds that narrow the range."""
    day = np.arange(wet.shape[1])
    wave = np.cos(2.0 * np.pi * (day - 201) / 365.25)
    spread = 3.6 - 1.2 * wave  # summers vary less than winters
    noise = rng.normal(size=wet.shape)
    departure = np.empty(wet.shape)
    departure[:, 0] = noise[:, 0]
    fresh = np.sqrt(1.0 - MEMORY**2)
    for d in range(1, wet.shape[1]):
        departure[:, d] = MEMORY * departure[:, d - 1] + fresh * noise[:, d]
    middle = climate.mean_c + climate.swing_c * wave + spread * departure
    half = 0.5 * climate.range_c * np.where(wet, 0.75, 1.0) * rng.uniform(0.8, 1.2, wet.shape)
    return middle + half - 1.0 * wet, middle - half


def _radiation(climate: Climate, wet: NDArray[np.bool_], rng: Generator) -> Days:
    """Radiation as a share of a clear sky's. [MJ m-2 d-1]"""
    clear = np.array(
        [clear_sky(extraterrestrial(climate.lat, day), ELEVATION_M) for day in range(1, 367)]
    )
    share = np.where(wet, rng.beta(4.0, 4.5, wet.shape), rng.beta(9.0, 3.0, wet.shape))
    return clear * np.clip(share, 0.1, 1.0)
