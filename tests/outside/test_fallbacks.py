"""What is lost without humidity, wind or radiation, at stations that measured them.

Standard: FAO-56 chapter 3 (Eqs. 47, 48, 50, 52; p. 58 on arid places, p. 63 on wind). The truth
is the same day with everything measured, which at Holyoke is the station's published ASCE
reference within 0.06 mm (``test_station_year.py``). No document gives the biases themselves:
bounds are set around what was measured, narrow enough that a broken step falls out of them.
"""

from __future__ import annotations

from functools import cache

import pytest

from seasons.dew_points import kimball
from seasons.fallbacks import HARGREAVES, Fallbacks, measure, section
from seasons.stations import DATA, FILES


@cache
def found() -> Fallbacks:
    """Everything measured, or a skip that names the file that is missing."""
    absent = [str(file.relative_to(DATA)) for file in FILES if not file.is_file()]
    if absent:
        pytest.skip(f"not beside the project: {', '.join(absent)}")
    return measure()


@pytest.mark.parametrize(
    ("station", "fallback", "percent", "rmse", "kcb"),
    [
        ("Holyoke", "humidity", -4.9, 0.64, -0.020),
        ("Holyoke", "wind", -7.8, 1.04, -0.030),
        ("Holyoke", "radiation", 5.3, 0.48, 0.0),
        ("Holyoke", "humidity and wind", -10.6, 1.23, -0.049),
        ("Holyoke", "all three", -4.8, 1.21, -0.049),
        ("De Bilt", "humidity", -2.1, 0.31, 0.0),
        ("De Bilt", "wind", -1.0, 0.25, -0.006),
        ("De Bilt", "radiation", 4.2, 0.43, 0.0),
        ("De Bilt", "humidity and wind", -1.8, 0.42, -0.006),
        ("De Bilt", "all three", 2.2, 0.67, -0.006),
        ("Chicago", "humidity", -14.1, 0.84, -0.040),
        ("Chicago", "wind", -7.2, 0.56, -0.026),
        ("Chicago", "humidity and wind", -17.3, 1.02, -0.066),
    ],
)
def test_a_fallback_costs_what_it_was_measured_to_cost(station, fallback, percent, rmse, kcb):
    loss = found().loss(station, fallback)

    assert loss.percent == pytest.approx(percent, abs=0.5)
    assert loss.rmse == pytest.approx(rmse, abs=0.05)
    assert loss.kcb == pytest.approx(kcb, abs=0.004)


def test_without_humidity_and_wind_no_station_asks_for_more_water():
    both = [loss for loss in found().losses if loss.fallback == "humidity and wind"]

    assert len(both) == 3
    assert all(loss.bias < 0 and loss.kcb < 0 for loss in both)


def test_a_missing_radiation_leaves_the_coefficient_as_it_is():
    assert [x.kcb for x in found().losses if x.fallback == "radiation"] == [0.0, 0.0]


def test_radiation_by_temperatures_fits_the_iowa_file_in_the_mean():
    assert abs(found().ames_sun.percent) < 2.0
    assert 0.4 < found().ames_sun.rmse < 0.7


def test_hargreaves_is_a_little_better_at_holyoke_and_far_too_high_at_de_bilt():
    dry, dry_ours = found().loss("Holyoke", HARGREAVES), found().loss("Holyoke", "all three")
    humid, ours = found().loss("De Bilt", HARGREAVES), found().loss("De Bilt", "all three")

    assert abs(dry.bias) < abs(dry_ours.bias)
    assert humid.percent == pytest.approx(11.9, abs=0.5)
    assert abs(ours.bias) < abs(humid.bias) / 2
    assert ours.rmse < humid.rmse


def test_a_lower_dew_point_helps_in_dry_country_and_harms_at_de_bilt():
    """FAO-56 p. 58: 2 to 3 K less in arid places, none where it is humid."""
    dry, less = found().dew("Holyoke", "Tmin"), found().dew("Holyoke", "Tmin - 2 K")
    humid, too_low = found().dew("De Bilt", "Tmin"), found().dew("De Bilt", "Tmin - 2 K")

    assert 2.0 < dry.error_k < 3.0
    assert abs(less.loss.bias) < abs(dry.loss.bias) / 3
    assert abs(humid.error_k) < 0.6
    assert abs(too_low.loss.bias) > 2 * abs(humid.loss.bias)


def test_the_rejected_estimate_has_less_scatter_everywhere_and_more_bias_at_de_bilt():
    for station in ("Holyoke", "De Bilt", "Chicago"):
        assert found().dew(station, "Kimball").loss.rmse < found().dew(station, "Tmin").loss.rmse
    ours, theirs = found().dew("De Bilt", "Tmin"), found().dew("De Bilt", "Kimball")

    assert abs(theirs.loss.bias) > abs(ours.loss.bias)


def test_the_rejected_estimate_is_the_published_line():
    """By hand: 1.121 (1.003 - 0.0144400 + 0.0012312 - 0.0000328) - 0.127 + 0.0006 x 10."""
    assert kimball(10.0, 20.0, 0.01) == pytest.approx(283.15 * 0.9885192 - 273.15, abs=1e-3)


def test_summer_winds_of_the_stations_are_those_of_their_files_at_2_m():
    """Eq. 47: 0.748 of the wind at 10 m, 0.675 of that at 20 m (De Bilt 2.90, Chicago 3.65)."""
    assert found().wind("Holyoke").mean == pytest.approx(2.92, abs=0.01)
    assert found().wind("De Bilt").mean == pytest.approx(0.748 * 2.90, abs=0.01)
    assert found().high_mast == pytest.approx(0.675 * 2.90, abs=0.01)
    assert found().wind("Chicago").mean == pytest.approx(0.748 * 3.65, abs=0.01)


def test_no_wind_of_one_number_is_best_at_every_station():
    best = {w.station: min(w.losses, key=lambda x: abs(x.bias)).fallback for w in found().winds}

    assert best["De Bilt"] == "2 m/s"
    assert best["Holyoke"] != "2 m/s"


def test_the_section_has_every_number_and_no_empty_place():
    page = section(found())

    assert page.startswith("## ")
    assert "{" not in page
    assert "nan" not in page
    assert page.count("| Holyoke") == 6 + 5 + 1
