"""Values that cannot be right are marked, never edited."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from rootbound_service.weather.quality import Flag, check, flag_words

GOOD = {
    "tmax_c": 28.0,
    "tmin_c": 15.0,
    "rain_mm": 0.0,
    "solar_mj": 22.0,
    "dewpoint_c": 14.0,
    "wind_m_s": 2.0,
}
DATA = Path(__file__).parents[4] / "shared" / "data" / "weather"


def day(**values):
    """One day, good but for what is named."""
    return {name: np.array([value]) for name, value in (GOOD | values).items()}


def marked(columns, **kwargs):
    """Which names are marked, and how."""
    flags = check(columns, **kwargs)
    return {name: Flag(int(marks[0])) for name, marks in flags.items() if marks[0]}


def test_a_good_day_is_not_marked():
    assert marked(day()) == {}


def test_a_missing_value_is_missing_not_wrong():
    assert marked(day(tmax_c=np.nan, solar_mj=np.nan), rso_mj=np.array([30.0])) == {}


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
    assert marked(day(**{name: value})) == {name: Flag.LIMIT}


def test_a_minimum_above_the_maximum_marks_both():
    columns = day(tmax_c=10.0, tmin_c=12.0, dewpoint_c=9.0)

    assert marked(columns) == {"tmax_c": Flag.INTERNAL, "tmin_c": Flag.INTERNAL}


@pytest.mark.parametrize(
    ("dewpoint", "bad"),
    [
        (18.0, False),  # 3 degC over the minimum, under the mean
        (18.1, True),
        (22.0, True),  # above the mean of the day
    ],
)
def test_a_dew_point_that_the_days_temperatures_forbid_is_marked(dewpoint, bad):
    wanted = {"dewpoint_c": Flag.INTERNAL} if bad else {}

    assert marked(day(dewpoint_c=dewpoint)) == wanted


def test_a_later_check_leaves_out_what_an_earlier_one_marked():
    assert marked(day(tmin_c=61.0)) == {"tmin_c": Flag.LIMIT}


@pytest.mark.parametrize(("solar", "bad"), [(33.0, False), (33.1, True), (1.3, False), (1.1, True)])
def test_radiation_is_held_between_the_clearest_and_the_darkest_sky(solar, bad):
    wanted = {"solar_mj": Flag.RADIATION} if bad else {}

    assert marked(day(solar_mj=solar), rso_mj=np.array([30.0])) == wanted


def test_the_values_themselves_are_left_as_they_came():
    columns = day(tmax_c=99.0)

    check(columns)

    assert columns["tmax_c"][0] == 99.0


def test_the_reason_can_be_said():
    assert flag_words(Flag.LIMIT | Flag.RADIATION) == (
        "outside what is possible, not possible for the sky of that day"
    )
    assert flag_words(0) == ""


def test_the_real_bad_winds_of_chicago_are_caught():
    # R package modeldata, data set Chicago: wind_max holds 406.2, 240.5 and 126.6 mph.
    path = DATA / "chicago_2001_2016_daily_F_inHg_mph.csv"
    if not path.exists():
        pytest.skip("the real data set is not beside this checkout")
    with path.open() as file:
        mph = np.array([float(row["wind_max"]) for row in csv.DictReader(file)])
    gusts = mph * 0.44704

    flags = check({"wind_m_s": gusts})["wind_m_s"]

    assert {406.2, 240.5, 126.6} <= set(mph[flags != 0])
    assert (flags != 0).mean() < 0.01
