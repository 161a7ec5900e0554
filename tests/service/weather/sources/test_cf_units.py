"""Units of CF files are known by any of their spellings and lead to ours."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_rules.water.air import saturation
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.sources.cf_units import (
    conversion,
    dewpoint,
    known_units,
    same_units,
)


@pytest.mark.parametrize(
    ("quantity", "units", "theirs", "ours"),
    [
        ("tmax_c", "degree_Celsius", 12.5, 12.5),
        ("tmax_c", "K", 273.15, 0.0),
        ("tmax_c", "degK", 317.1, 43.95),
        ("tmin_c", "degF", 212.0, 100.0),
        ("tmin_c", "degF", 32.0, 0.0),
        ("rain_mm", "millimeter", 3.2, 3.2),
        ("rain_mm", "kg m-2 s-1", 1e-4, 8.64),
        ("rain_mm", "m", 0.0123, 12.3),
        ("rain_mm", "inches", 1.0, 25.4),
        ("solar_mj", "W m-2", 250.0, 21.6),
        ("solar_mj", "W m**-2", 250.0, 21.6),
        ("solar_mj", "J m^-2", 2e7, 20.0),
        ("solar_mj", "kWh m-2", 5.0, 18.0),
        ("wind_m_s", "km/h", 18.0, 5.0),
        ("wind_m_s", "knots", 1.0, 0.514444),
        ("dewpoint_c", "K", 283.15, 10.0),
    ],
)
def test_each_unit_leads_to_ours(quantity, units, theirs, ours):
    convert = conversion(quantity, units)

    assert convert is not None
    assert convert(np.array([theirs]))[0] == pytest.approx(ours, abs=1e-6)


@pytest.mark.parametrize(("height", "factor"), [(None, 1.0), (2.0, 1.0), (10.0, 0.748)])
def test_wind_is_brought_down_by_the_profile_of_fao_56(height, factor):
    # FAO-56 Eq. 47 and its table: 10 m gives 0.748.
    convert = conversion("wind_m_s", "m s-1", height)

    assert convert is not None
    assert convert(np.array([4.0]))[0] == pytest.approx(4.0 * factor, abs=2e-3)


@pytest.mark.parametrize(("units", "size"), [("kPa", 1.0), ("Pa", 1000.0), ("hPa", 10.0)])
@pytest.mark.parametrize(
    ("kilopascals", "degrees"), [(0.611, 0.0), (1.228, 10.0), (2.338, 20.0), (4.243, 30.0)]
)
def test_vapour_pressure_gives_the_dew_point_of_fao_56s_table(units, size, kilopascals, degrees):
    # FAO-56 annex 2, table 2.3: saturation vapour pressure.
    convert = conversion("dewpoint_c", units)

    assert convert is not None
    assert convert(np.array([kilopascals * size]))[0] == pytest.approx(degrees, abs=0.02)


@given(st.floats(-45, 45))
def test_the_dew_point_turns_saturation_round(degrees):
    assert dewpoint(np.array([saturation(degrees)]))[0] == pytest.approx(degrees, abs=1e-9)


def test_no_vapour_has_no_dew_point():
    assert np.isnan(dewpoint(np.array([0.0, -1.0, np.nan]))).all()


@pytest.mark.parametrize("units", ["", "furlong", "K m-1", "percent", "mm", "1"])
def test_a_unit_of_something_else_is_not_known(units):
    assert conversion("tmax_c", units) is None


def test_the_same_unit_is_known_in_two_spellings_and_no_other():
    assert same_units("tmax_c", "K", "kelvin")
    assert not same_units("tmax_c", "K", "degC")
    assert not same_units("tmax_c", "lunar", "lunar")
    assert not same_units("dewpoint_c", "degC", "kPa")


@pytest.mark.parametrize("quantity", QUANTITY_NAMES)
def test_the_units_that_are_named_to_a_person_are_taken(quantity):
    assert all(conversion(quantity, units) is not None for units in known_units(quantity))
