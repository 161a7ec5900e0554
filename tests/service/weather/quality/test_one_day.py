"""Limits, naught, contradictions within a day and radiation against a clear sky."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from rootbound_rules.water.radiation import clear_sky, extraterrestrial
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import Flag
from rootbound_service.weather.quality.radiation import clear_sky_mj
from service.weather.weather_rig import block_of

GOOD = {
    "tmax_c": 28.0,
    "tmin_c": 15.0,
    "rain_mm": 0.0,
    "solar_mj": 22.0,
    "dewpoint_c": 14.0,
    "wind_m_s": 2.0,
}


def marks(rso=None, **values):
    """Flags of one day, good but for what is named."""
    day = GOOD | values
    block = block_of(np.array([day[name] for name in QUANTITY_NAMES])[:, None, None])
    context = Context(rso_mj=None if rso is None else np.array([[rso]]))
    flags = check_block(block, context)[:, 0, 0]
    return {n: Flag(int(f)) for n, f in zip(QUANTITY_NAMES, flags, strict=True) if f}


def test_a_good_day_is_not_marked():
    assert marks(rso=30.0) == {}


def test_a_missing_value_is_missing_not_wrong():
    assert marks(rso=30.0, **dict.fromkeys(QUANTITY_NAMES, np.nan)) == {}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("tmax_c", 60.1),
        ("tmin_c", -50.1),
        ("rain_mm", -0.1),
        ("rain_mm", 611.0),
        ("solar_mj", 0.3),
        ("solar_mj", 61.0),
        ("dewpoint_c", 42.0),
        ("wind_m_s", 0.0),
        ("wind_m_s", 36.0),
    ],
)
def test_a_value_outside_the_hard_limits_is_marked_and_only_it(name, value):
    assert marks(**{name: value}) == {name: Flag.LIMIT}


def test_the_least_radiation_gives_way_in_a_northern_winter():
    assert marks(solar_mj=0.2, rso=1.5) == {}
    assert marks(solar_mj=0.2, rso=12.0)["solar_mj"] & Flag.LIMIT


@pytest.mark.parametrize("naught", [0.0, -17.8, -17.78])
def test_both_temperatures_at_the_naught_of_a_scale_are_no_measurement(naught):
    found = marks(tmax_c=naught, tmin_c=naught, dewpoint_c=-20.0)

    assert found == {"tmax_c": Flag.NAUGHT, "tmin_c": Flag.NAUGHT}


def test_one_temperature_of_exactly_naught_is_weather():
    assert marks(tmax_c=4.0, tmin_c=0.0, dewpoint_c=-1.0) == {}


def test_a_minimum_above_the_maximum_marks_both():
    found = marks(tmax_c=10.0, tmin_c=12.0, dewpoint_c=9.0)

    assert found == {"tmax_c": Flag.INTERNAL, "tmin_c": Flag.INTERNAL}


@pytest.mark.parametrize(
    ("tmax", "tmin", "dewpoint", "bad"),
    [
        (28.0, 15.0, 24.4, False),  # a front late in the day: the mean lies over the middle
        (28.0, 15.0, 24.6, True),
        (16.0, 15.0, 16.4, False),  # a foggy day, within rounding of the maximum
        (16.0, 15.0, 16.6, True),
    ],
)
def test_a_dew_point_that_the_days_temperatures_forbid_is_marked(tmax, tmin, dewpoint, bad):
    wanted = {"dewpoint_c": Flag.INTERNAL} if bad else {}

    assert marks(tmax_c=tmax, tmin_c=tmin, dewpoint_c=dewpoint) == wanted


def test_a_later_check_leaves_out_what_an_earlier_one_ruled_out():
    assert marks(tmin_c=61.0) == {"tmin_c": Flag.LIMIT}
    assert marks(solar_mj=61.0, rso=30.0) == {"solar_mj": Flag.LIMIT}


@pytest.mark.parametrize(("solar", "bad"), [(32.9, False), (33.1, True), (1.3, False), (1.1, True)])
def test_radiation_is_held_between_the_clearest_and_the_darkest_sky(solar, bad):
    wanted = {"solar_mj": Flag.RADIATION} if bad else {}

    assert marks(rso=30.0, solar_mj=solar) == wanted


def test_the_values_themselves_are_left_as_they_came():
    values = np.full((6, 1, 3), 99.0)
    values.flags.writeable = False

    assert check_block(block_of(values), Context()).any()
    assert (values == 99.0).all()


def test_the_clear_sky_of_cells_is_the_rules_own_on_every_day_of_a_leap_year():
    lat, height = np.array([42.0, -33.5, 42.0]), np.array([300.0, 20.0, 1500.0])

    table = clear_sky_mj(lat, height, date(2020, 1, 1), 366)

    wanted = [
        [clear_sky(extraterrestrial(a, doy), h) for doy in range(1, 367)]
        for a, h in zip(lat, height, strict=True)
    ]
    assert np.allclose(table, wanted, rtol=1e-12)
