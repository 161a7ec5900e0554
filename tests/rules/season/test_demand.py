"""Which measured series a day's demand rests on, and what stands in for one that is absent.

Standard: FAO-56 chapter 3, order of preference of Eqs. 17, 14, 18 and 48; Eq. 50; p. 63 on wind.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from rootbound_rules.errors import RulesError
from rootbound_rules.season import demand
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.values import DailyWeather

LYON = (45.72, 200.0)
"""Latitude and height of Example 20."""
HUMID = ("dewpoint_c", "rhmax_pct", "rhmin_pct")


def days(**series):
    """Return three days like those of Example 20 (Lyon in July, Tmax 26.6, Tmin 14.8)."""
    each = {name: np.full(3, value) for name, value in series.items()}
    same = {"tmax_c": np.full(3, 26.6), "tmin_c": np.full(3, 14.8), "rain_mm": np.zeros(3)}
    return DailyWeather(start=date(2015, 7, 14), **(same | each))


def et0(weather):
    """Return the middle day's reference evapotranspiration. [mm]"""
    return float(cell_demand(weather, *LYON).et0_mm[1])


def climate(weather):
    """Return the middle day's bracket of Eq. 70. [-]"""
    return float(cell_demand(weather, *LYON).climate[1])


def test_temperatures_alone_give_the_printed_answer_of_example_20():
    assert et0(days()) == pytest.approx(4.56, abs=0.01)


@pytest.mark.parametrize(("wind", "printed"), [(1.0, 4.2), (3.0, 4.8)])
def test_the_printed_answers_for_other_winds_come_out(wind, printed):
    assert et0(days(wind_m_s=wind)) == pytest.approx(printed, abs=0.05)


def test_absent_wind_is_2_m_s_and_adds_nothing_to_a_coefficient():
    assert et0(days(wind_m_s=2.0)) == et0(days())
    assert climate(days(rhmin_pct=45.0)) == 0.0


def test_absent_humidity_is_a_dew_point_at_the_lowest_temperature():
    """Eq. 48 has 0.611 where Eq. 14 has 0.6108."""
    assert et0(days(dewpoint_c=14.8)) == pytest.approx(et0(days()), abs=2e-3)


def test_both_humidities_come_before_a_dew_point_and_a_dew_point_before_the_highest_alone():
    both, dew, high = (
        {"rhmax_pct": 90.0, "rhmin_pct": 40.0},
        {"dewpoint_c": 9.0},
        {"rhmax_pct": 90.0},
    )

    assert et0(days(**both, **dew)) == et0(days(**both))
    assert et0(days(**high, **dew)) == et0(days(**dew))
    assert len({et0(days(**one)) for one in (both, dew, high, {})}) == 4


def test_drier_air_and_more_wind_ask_for_more_water_of_a_tall_crop():
    assert climate(days(dewpoint_c=9.0)) > climate(days(dewpoint_c=14.0))
    assert climate(days(wind_m_s=3.0)) > climate(days(wind_m_s=2.0))


@pytest.mark.parametrize(
    ("known", "marks"),
    [
        ({}, demand.FILLED_SOLAR | demand.FILLED_HUMIDITY | demand.FILLED_WIND),
        ({"solar_mj": 22.0}, demand.FILLED_HUMIDITY | demand.FILLED_WIND),
        ({"solar_mj": 22.0, "wind_m_s": 2.0, "dewpoint_c": 9.0}, 0),
        ({"solar_mj": 22.0, "wind_m_s": 2.0, "rhmax_pct": 90.0}, 0),
    ],
)
def test_every_estimate_leaves_its_mark(known, marks):
    assert set(cell_demand(days(**known), *LYON).made) == {marks}


def test_a_gap_is_estimated_on_its_own_day_only():
    weather = days(dewpoint_c=9.0, wind_m_s=3.0)
    holed = replace(weather, dewpoint_c=np.array([9.0, np.nan, 9.0]))
    whole, ours = cell_demand(weather, *LYON), cell_demand(holed, *LYON)

    assert list(ours.et0_mm != whole.et0_mm) == [False, True, False]
    assert list(ours.made & demand.FILLED_HUMIDITY > 0) == [False, True, False]


def test_the_compiled_loop_fills_gaps_as_the_plain_one_does():
    weather = replace(
        days(solar_mj=22.0, dewpoint_c=9.0, wind_m_s=3.0),
        solar_mj=np.array([22.0, np.nan, 22.0]),
        dewpoint_c=np.array([np.nan, 9.0, 9.0]),
        wind_m_s=np.array([3.0, 3.0, np.nan]),
    )
    plain, compiled = cell_demand(weather, *LYON), cell_demand(weather, *LYON, loop=demand_loop)

    np.testing.assert_allclose(compiled.et0_mm, plain.et0_mm, rtol=1e-12)
    np.testing.assert_allclose(compiled.climate, plain.climate, rtol=1e-12, atol=1e-15)


def test_days_without_any_temperature_are_refused():
    with pytest.raises(RulesError, match="tmin_c has no value on any day"):
        cell_demand(days(tmin_c=np.nan), *LYON)
