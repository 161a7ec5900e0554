"""Real faults in public daily files are caught, and real weather is left alone.

What the checks of GHCN-Daily mark wrongly is 1 to 2 % (Durre et al. 2010, abstract); ours must
stay far below on files without known faults.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from outside.real_days import (
    CHICAGO,
    MPH,
    block_of,
    chicago,
    columns,
    de_bilt,
    holyoke,
    iowa,
    numbers,
)
from rootbound_service.weather.normals import normals_of
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.flags import SUSPECT, UNUSABLE, Flag
from rootbound_service.weather.quality.radiation import clear_sky_mj

FILES = {
    "iowa": (iowa, 42.02, 315.0),
    "chicago": (chicago, 41.8, 188.0),
    "holyoke": (holyoke, 40.49, 1138.0),
    "de bilt": (de_bilt, 52.1, 2.0),
}


def checked(name):
    """A file and its flags, held against its own years."""
    make, lat, height = FILES[name]
    block = make()
    rso = clear_sky_mj(np.array([lat]), np.array([height]), block.start, block.days)
    return block, check_block(block, Context(rso_mj=rso))


def dates(block, flags, quantity, flag):
    """Days on which a quantity carries a flag."""
    row = flags[block.quantities.index(quantity), 0]
    return {block.start + timedelta(days=int(day)) for day in np.flatnonzero(row & flag)}


def test_the_impossible_winds_of_chicago_are_caught_and_no_others():
    mph = numbers(columns(CHICAGO), "wind_max")
    block = block_of(date(2001, 1, 22), wind_m_s=mph * MPH)

    flags = check_block(block, Context())[0, 0]

    assert set(mph[(flags & Flag.LIMIT) != 0]) == {406.2, 240.5, 126.6}


def test_a_night_of_minus_seventeen_between_mild_days_of_chicago_is_caught():
    block, flags = checked("chicago")  # 24 October 2002: 1.4 degF, the day's mean is 44.6

    assert dates(block, flags, "tmin_c", Flag.GAP) == {date(2002, 10, 24)}


def test_a_fortnight_of_one_value_and_a_day_of_noughts_in_iowa_are_caught():
    block, flags = checked("iowa")
    fortnight = {date(2014, 5, 19) + timedelta(days=n) for n in range(12)}

    assert dates(block, flags, "tmax_c", Flag.STUCK) == fortnight
    assert dates(block, flags, "tmin_c", Flag.STUCK) >= fortnight
    for name in ("tmax_c", "tmin_c"):
        assert dates(block, flags, name, Flag.NAUGHT) == {date(2010, 1, 11)}


def test_days_without_sun_in_an_iowa_summer_are_caught():
    block, flags = checked("iowa")

    assert dates(block, flags, "solar_mj", Flag.LIMIT) >= {date(2015, 7, 31), date(2015, 8, 8)}


def test_only_the_last_year_of_iowa_is_brighter_than_a_clear_sky():
    block, flags = checked("iowa")  # its radiation of 2020 runs high: another origin

    assert {day.year for day in dates(block, flags, "solar_mj", Flag.RADIATION)} == {2020}


@pytest.mark.parametrize("name", FILES)
def test_few_values_of_real_weather_are_ruled_out_or_doubted(name):
    _, flags = checked(name)

    assert ((flags & UNUSABLE) != 0).mean() < 0.0015
    assert ((flags & SUSPECT) != 0).mean() < 0.001


def test_eleven_years_of_iowa_stand_beside_the_thirty_before():
    block = iowa()
    cut = (date(2010, 1, 1) - block.start).days
    usual = normals_of(block.values[:, :, :cut], block.start, block.quantities)
    later = {n: block.values[i, 0, cut:] for i, n in enumerate(block.quantities)}

    flags = check_block(block_of(date(2010, 1, 1), **later), Context(normals=usual))

    climate = Flag.OUTLIER | Flag.GAP | Flag.RAIN_OUTLIER
    assert usual.years.tolist() == [30]
    assert not (flags & np.uint16(climate)).any()
