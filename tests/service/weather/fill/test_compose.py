"""Each step of filling, in its turn: other source, line, formula, climate, and rain's own way."""

from __future__ import annotations

import numpy as np
import pytest

from rootbound_rules.tables import load_table
from rootbound_rules.water.radiation import clear_sky, extraterrestrial, from_temperatures
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.fill.bias import day_shift
from rootbound_service.weather.fill.compose import Gaps, How, compose
from rootbound_service.weather.normals import normals_of
from rootbound_service.weather.quality.flags import Flag
from service.weather.weather_rig import ELEVATION_M, LAT, START, invented, source_days

DAYS = 120
TMAX, TMIN, RAIN, SOLAR, DEW, WIND = range(6)


@pytest.fixture(scope="module")
def normals():
    """Of eight invented years."""
    return normals_of(invented(8 * 365 + 2, seed=4), START, QUANTITY_NAMES)


@pytest.fixture
def own():
    """What the preferred source has."""
    return invented(DAYS)


def put(*sources, normals=None, rain=None, flags=None):
    """Compose one place; flags are the preferred source's."""
    made = [source_days(v, flags if not n else None, f"S{n}") for n, v in enumerate(sources)]
    lat, height = np.array([LAT]), np.array([ELEVATION_M])
    return compose(made, lat=lat, elevation_m=height, normals=normals, forecast_rain=rain)


def test_a_whole_series_is_taken_as_it_is(own):
    found = put(own)

    assert np.array_equal(found.values, own)
    assert (found.how == How.OBSERVED).all()
    assert found.summary(0) == "S0"


def test_a_value_ruled_out_is_replaced_and_a_suspect_one_is_used_and_stays_suspect(own):
    flags = np.zeros(own.shape, np.uint16)
    flags[TMAX, 0, 50], flags[TMIN, 0, 50] = Flag.OUTLIER, Flag.STEP

    found = put(own, own + 1.0, flags=flags)

    assert found.how[[TMAX, TMIN], 0, 50].tolist() == [How.OTHER_SOURCE, How.OBSERVED]
    assert found.suspect[[TMAX, TMIN], 0, 50].tolist() == [False, True]


def test_another_source_is_brought_to_level_by_the_last_thirty_common_days(own):
    other = own.copy()
    other[[TMAX, TMIN, DEW], :, :60] += 4.0  # long ago: must not count
    other[[TMAX, TMIN, DEW], :, 60:] += 2.0
    other[SOLAR] *= 0.8
    other[WIND] *= 1.5
    holed = own.copy()
    holed[:, 0, 95:100] = np.nan

    found = put(holed, other)

    some = [TMAX, TMIN, SOLAR, DEW, WIND]
    assert (found.how[:, 0, 95:100] == How.OTHER_SOURCE).all()
    assert np.allclose(found.values[some, 0, 95:100], own[some, 0, 95:100])
    assert np.array_equal(found.values[RAIN, 0], other[RAIN, 0])
    assert not found.suspect.any()


def test_at_the_beginning_the_first_common_days_serve(own):
    other, holed = own.copy(), own.copy()
    other[TMAX] -= 3.0
    other[TMAX, 0, 40:] += 20.0
    holed[TMAX, 0, :3] = np.nan

    assert np.allclose(put(holed, other).values[TMAX, 0, :3], own[TMAX, 0, :3])


def test_with_few_common_days_the_value_is_taken_as_it_is_and_is_suspect(own):
    other, holed = own + 2.0, own.copy()
    holed[TMAX, 0, 9:] = np.nan

    found = put(holed, other)

    assert np.array_equal(found.values[TMAX, 0, 9:], other[TMAX, 0, 9:])
    assert found.suspect[TMAX, 0, 9:].all()


def test_a_difference_or_ratio_beyond_belief_is_bounded(own):
    other, holed = own.copy(), own.copy()
    other[TMIN] -= 9.0
    other[WIND] *= 5.0
    holed[[TMIN, WIND], 0, 80] = np.nan

    found = put(holed, other)

    assert found.values[TMIN, 0, 80] == pytest.approx(other[TMIN, 0, 80] + 5.0)
    assert found.values[WIND, 0, 80] == pytest.approx(other[WIND, 0, 80] * 0.5)


def test_a_doubted_storm_gives_way_to_a_source_that_contradicts_it_and_only_then(own):
    own[RAIN, 0, 49:52] = 0.0
    calm, storm = own.copy(), own.copy()
    storm[RAIN, 0, 50] = 140.0
    flags = np.zeros(own.shape, np.uint16)
    flags[RAIN, 0, 50] = Flag.RAIN_OUTLIER

    assert put(storm, calm, flags=flags).values[RAIN, 0, 50] == 0.0
    elsewhere = np.roll(flags, 30, axis=2)
    assert put(storm, calm, flags=elsewhere).values[RAIN, 0, 50] == 140.0  # not doubted itself
    assert put(storm, storm * 0.5, flags=flags).values[RAIN, 0, 50] == 140.0
    assert put(storm, flags=flags).values[RAIN, 0, 50] == 140.0


def test_both_temperatures_stuck_give_way_to_any_source_and_one_alone_does_not(own):
    flags = np.zeros(own.shape, np.uint16)
    flags[[TMAX, TMIN], 0, 50:56] = Flag.STUCK
    flags[TMAX, 0, 70:76] = Flag.STUCK

    found = put(own, own + 0.5, flags=flags)

    assert (found.how[[TMAX, TMIN], 0, 50:56] == How.OTHER_SOURCE).all()
    assert (found.how[[TMAX, TMIN], 0, 70:76] == How.OBSERVED).all()
    assert (put(own, flags=flags).how == How.OBSERVED).all()


def test_a_gap_of_two_days_is_bridged_in_a_line_and_rain_is_not(own):
    own[:, 0, 50:52] = np.nan

    found = put(own)

    for row in (TMAX, TMIN):
        left, right = own[row, 0, 49], own[row, 0, 52]
        line = [left + (right - left) / 3, left + 2 * (right - left) / 3]
        assert np.allclose(found.values[row, 0, 50:52], line)
        assert (found.how[row, 0, 50:52] == How.INTERPOLATED).all()
    assert (found.how[RAIN, 0, 50:52] == How.ASSUMED_DRY).all()


def test_a_gap_of_three_days_is_no_line_any_more(own):
    own[TMAX:RAIN, 0, 50:53] = np.nan

    assert (put(own).how[TMAX:RAIN, 0, 50:53] == How.MISSING).all()


def test_radiation_of_another_source_is_not_raised_beyond_the_clear_sky(own):
    rso = np.array([clear_sky(extraterrestrial(LAT, n + 1), ELEVATION_M) for n in range(DAYS)])
    own[SOLAR, 0] = 0.9 * rso
    other = own.copy()
    other[SOLAR, 0] = 0.6 * rso  # half as much again brings it to the level
    own[SOLAR, 0, 90], other[SOLAR, 0, 90] = np.nan, 0.95 * rso[90]

    assert put(own, other).values[SOLAR, 0, 90] == pytest.approx(1.10 * rso[90])


def test_a_longer_gap_in_temperature_takes_the_climates_middle(own, normals):
    own[TMAX:RAIN, 0, 50:54] = np.nan

    found = put(own, normals=normals)

    assert (found.how[TMAX:RAIN, 0, 50:54] == How.CLIMATE).all()
    # 20 February is slot 50 in every year.
    assert np.allclose(found.values[TMAX, 0, 50:54], normals.median("tmax_c")[0, 50:54])
    assert (put(own).how[TMAX, 0, 50:54] == How.MISSING).all()


def test_where_one_temperature_is_known_the_other_is_as_far_from_the_usual(own, normals):
    kept = own.copy()
    own[TMAX, 0, 50:54] = np.nan

    found = put(own, normals=normals)

    off = kept[TMIN, 0, 50:54] - normals.median("tmin_c")[0, 50:54]
    assert np.allclose(found.values[TMAX, 0, 50:54], normals.median("tmax_c")[0, 50:54] + off)


def test_radiation_is_estimated_by_the_rules_own_equation(own, normals):
    own[SOLAR, 0, [50, DAYS - 1]] = np.nan

    found = put(own, normals=normals)

    krs = load_table("season").number("radiation_krs")
    for day in (50, DAYS - 1):
        ra = extraterrestrial(LAT, day + 1)
        rso = clear_sky(ra, ELEVATION_M)
        wanted = from_temperatures(ra, own[TMAX, 0, day], own[TMIN, 0, day], krs, rso)
        assert found.values[SOLAR, 0, day] == pytest.approx(wanted)
        assert found.how[SOLAR, 0, day] == How.FORMULA


def test_a_dew_point_follows_the_minimum_at_the_places_own_distance(own):
    own[DEW] = own[TMIN] - 1.5
    own[DEW, 0, 50:55] = np.nan

    found = put(own)

    assert np.allclose(found.values[DEW, 0, 50:55], own[TMIN, 0, 50:55] - 1.5)
    assert (found.how[DEW, 0, 50:55] == How.FORMULA).all()


def test_wind_is_the_usual_of_the_day_else_the_places_own_mean(own, normals):
    own[WIND, 0, 50] = np.nan

    usual, alone = put(own, normals=normals), put(own)

    assert usual.values[WIND, 0, 50] == pytest.approx(normals.median("wind_m_s")[0, 50])
    assert usual.how[WIND, 0, 50] == How.CLIMATE
    assert alone.values[WIND, 0, 50] == pytest.approx(np.nanmean(own[WIND]))
    assert alone.how[WIND, 0, 50] == How.FORMULA


def test_rain_that_no_source_has_is_as_it_was_forecast_else_none(own):
    own[RAIN, 0, 50:52] = np.nan
    rain = np.full((1, DAYS), np.nan)
    rain[0, 50] = 12.0
    rain[0, 60] = 99.0  # a day that is known

    found = put(own, rain=rain)

    assert found.values[RAIN, 0, 50:52].tolist() == [12.0, 0.0]
    assert found.how[RAIN, 0, 50:52].tolist() == [How.FORECAST, How.ASSUMED_DRY]
    assert found.values[RAIN, 0, 60] == own[RAIN, 0, 60]


def test_a_gap_of_over_a_fortnight_stays_open(own, normals):
    own[:, 0, 50:65] = np.nan

    found = put(own, normals=normals)

    assert (found.how[:, 0, 50:65] == How.MISSING).all()


def test_a_quantity_that_no_source_has_is_left_to_the_rules(own, normals):
    own[SOLAR] = np.nan

    found = put(own, normals=normals)

    assert np.isnan(found.values[SOLAR]).all()
    assert found.summary(0) == "S0; sunshine of 14 days not known"


def test_days_after_the_last_whole_one_keep_what_is_real_and_get_nothing_else(own, normals):
    own[RAIN, 0, -3:] = np.nan
    rain = np.full((1, DAYS), 5.0)

    found = put(own, normals=normals, rain=rain)

    assert found.last.tolist() == [DAYS - 4]
    assert np.isnan(found.values[RAIN, 0, -3:]).all()
    assert np.array_equal(found.values[TMAX, 0], own[TMAX, 0])


def test_what_is_not_measured_near_the_end_is_counted_by_place(own):
    two = np.repeat(own, 2, axis=1)
    two[TMAX, 0, -4] = np.nan
    two[RAIN, 0, [-6, -5]] = np.nan
    two[RAIN, 0, -30] = np.nan  # too long ago
    rain = np.full((2, DAYS), np.nan)
    rain[0, -6] = 3.0
    lat, height = np.full(2, LAT), np.full(2, ELEVATION_M)

    found = compose([source_days(two)], height, lat, None, rain)

    assert [found.gaps(place) for place in (0, 1)] == [Gaps(3, 2, 1), Gaps(0, 0, 0)]


def test_the_summary_tells_of_every_stand_in(own):
    other = own.copy()
    own[:, 0, -5:-2] = np.nan
    own[WIND, 0, -12:-10] = other[WIND, 0, -12:-10] = np.nan
    own[RAIN, 0, -9] = other[RAIN, 0, -9] = np.nan

    assert put(own, other).summary(0) == (
        "S0; 3 days from S1; wind of 2 days estimated; rain of 1 day taken as none"
    )


def test_rain_that_falls_a_day_later_at_the_other_source_is_noticed():
    chance = np.random.default_rng(3)
    rain = np.where(chance.random((2, 200)) < 0.3, chance.gamma(0.8, 9.0, (2, 200)), 0.0)
    later = np.roll(rain, 1, axis=1)

    assert day_shift(rain, later).tolist() == [1, 1]
    assert day_shift(later, rain).tolist() == [-1, -1]
    assert day_shift(rain, rain * 0.7).tolist() == [0, 0]
    assert day_shift(rain[:, :40], later[:, :40]).tolist() == [0, 0]
