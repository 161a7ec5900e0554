"""A year of a station in irrigated maize country, with the ASCE grass reference it published.

The figures are printed to 0.1 mm, so a right implementation is within 0.06 mm on every day.
Inputs: humidity as fractions (above 1 on some nights, not clipped), radiation in W m-2,
wind run in km at 2 m.
"""

from __future__ import annotations

import csv
from datetime import date
from functools import cache

import numpy as np
import pytest

from outside.cases import shared
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.values import DailyWeather

FILE = "weather/coagmet_hyk02_2020_daily_with_asce_et.csv"
LAT, ELEVATION = 40.49, 1138.0
DAYS = 366
TOLERANCE = 0.06


@cache
def rows() -> list[dict[str, str]]:
    """The days of the file."""
    with shared(FILE).open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def column(name: str, factor: float = 1.0) -> np.ndarray:
    """One column in our unit."""
    return factor * np.array([float(row[name]) for row in rows()])


@cache
def demand() -> Demand:
    """The year through the function every season goes through."""
    weather = DailyWeather(
        start=date(2020, 1, 1),
        tmax_c=column("tmax"),
        tmin_c=column("tmin"),
        rain_mm=np.zeros(DAYS),
        solar_mj=column("solar", 0.0864),
        rhmax_pct=column("rhmax", 100.0),
        rhmin_pct=column("rhmin", 100.0),
        wind_m_s=column("windrun", 1000.0 / 86400.0),
    )
    return cell_demand(weather, LAT, ELEVATION)


def test_the_file_holds_the_whole_leap_year_in_order():
    first, last = rows()[0]["date"], rows()[-1]["date"]

    assert (len(rows()), first, last) == (DAYS, "2020-01-01", "2020-12-31")


def test_every_day_of_the_year_is_within_the_rounding_of_the_published_figure():
    off = np.abs(demand().et0_mm - column("et_asce0"))
    worst = np.argsort(-off)[:15]
    beyond = {rows()[i]["date"]: round(float(off[i]), 3) for i in worst if off[i] > TOLERANCE}

    assert beyond == {}


def test_the_year_has_no_bias_and_the_published_sum():
    ours, published = demand().et0_mm, column("et_asce0")

    assert ours.mean() - published.mean() == pytest.approx(0.0, abs=0.005)
    assert ours.sum() == pytest.approx(published.sum(), abs=2.0)


def test_no_day_of_the_year_was_filled():
    assert not demand().made.any()
