"""Runs, jumps, the climate and another source: each fault is caught, clean weather passes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.normals import normals_of
from rootbound_service.weather.quality.check import Context, check_block
from rootbound_service.weather.quality.cross import contradicts
from rootbound_service.weather.quality.flags import UNUSABLE, Flag
from rootbound_service.weather.quality.radiation import clear_sky_mj
from service.weather.weather_rig import (
    ELEVATION_M,
    LAT,
    ROW,
    START,
    block_of,
    invented,
    marked,
)

JULY = date(2013, 7, 1)


@pytest.fixture(scope="module")
def normals():
    """Of twelve invented years before 2013."""
    return normals_of(invented(12 * 365 + 3), START, QUANTITY_NAMES)


@pytest.fixture
def july():
    """Forty days from 1 July."""
    return invented(40, start=JULY, seed=7)


def flags_of(values, start=JULY, **context):
    """Marks of an answer."""
    return marked(check_block(block_of(values, start), Context(**context)))


def test_clean_years_pass_every_check(normals):
    values, start = invented(3 * 365, cells=4, start=date(2013, 1, 1), seed=5), date(2013, 1, 1)
    rso = clear_sky_mj(np.full(4, LAT), np.full(4, ELEVATION_M), start, 3 * 365)
    of_four = normals_of(invented(12 * 365 + 3, cells=4), START, QUANTITY_NAMES)

    found = flags_of(values, start, rso_mj=rso, normals=of_four, other=values)

    assert found == {}


@pytest.mark.parametrize(
    ("name", "days"),
    [("tmax_c", 5), ("tmin_c", 5), ("dewpoint_c", 5), ("wind_m_s", 4), ("solar_mj", 3)],
)
def test_every_day_of_a_run_of_one_value_is_marked_and_a_shorter_run_is_not(july, name, days):
    row = ROW[name]
    july[row, 0, 10 : 10 + days] = july[row, 0, 10]
    shorter = july.copy()
    shorter[row, 0, 10 + days - 1] += 0.3

    stuck = {at[2] for at, flag in flags_of(july).items() if flag & Flag.STUCK}

    assert stuck == set(range(10, 10 + days))
    assert not any(flag & Flag.STUCK for flag in flags_of(shorter).values())


def test_dry_days_and_drizzle_are_no_run_but_the_same_real_rain_is(july):
    july[ROW["rain_mm"], 0, :20] = 0.0
    july[ROW["rain_mm"], 0, 20:26] = 0.2
    july[ROW["rain_mm"], 0, 26:29] = 7.3

    assert flags_of(july) == {("rain_mm", 0, day): Flag.STUCK for day in (26, 27, 28)}


def test_a_run_that_began_in_the_days_before_is_seen(july):
    before, now = july[:, :, :20].copy(), july[:, :, 20:]
    before[ROW["tmax_c"], 0, -3:] = now[ROW["tmax_c"], 0, :2] = 27.31

    found = flags_of(now, JULY + timedelta(days=20), before=before)

    assert found == {("tmax_c", 0, 0): Flag.STUCK, ("tmax_c", 0, 1): Flag.STUCK}


def test_a_missing_day_ends_a_run(july):
    july[ROW["tmax_c"], 0, 10:15] = 27.31
    july[ROW["tmax_c"], 0, 12] = np.nan

    assert flags_of(july) == {}


def test_a_spike_is_marked_and_the_way_back_is_not(july):
    july[ROW["tmax_c"], 0, 12] = july[ROW["tmax_c"], 0, 11] + 26.0

    assert flags_of(july) == {("tmax_c", 0, 12): Flag.STEP}


def test_a_jump_from_the_last_day_stored_is_seen(july):
    before, now = july[:, :, :20], july[:, :, 20:].copy()
    now[ROW["tmin_c"], 0, 0] = before[ROW["tmin_c"], 0, -1] - 26.0

    assert flags_of(now, before=before)[("tmin_c", 0, 0)] == Flag.STEP


def test_a_temperature_far_from_the_usual_is_ruled_out_although_it_also_jumped(july, normals):
    july[ROW["tmin_c"], 0, 12] = -25.0

    found = flags_of(july, normals=normals)[("tmin_c", 0, 12)]

    assert found == Flag.STEP | Flag.GAP  # what a gap rules out is not tried again
    assert found & UNUSABLE


@pytest.mark.parametrize(("beyond", "bad"), [(9.9, False), (10.1, True)])
@pytest.mark.parametrize("side", [-1, 1])
def test_ten_degrees_beyond_every_other_value_of_the_month_is_a_gap(
    july, normals, beyond, bad, side
):
    wide = replace(normals, sd=normals.sd + 100)  # so that no outlier is found
    edge = (normals.month_high if side > 0 else normals.month_low)[0, 0, 6]
    july[0, 0, 12] = edge + side * beyond
    july[1, 0, 12] = july[4, 0, 12] = np.nan

    found = flags_of(july, normals=wide).get(("tmax_c", 0, 12), Flag(0))

    assert bool(found & Flag.GAP) is bad


def test_six_standard_deviations_are_the_limit(july, normals):
    far = replace(normals, month_high=normals.month_high + 100)  # so that no gap is found first
    mean, sd = normals.mean[0, 0, 182 + 12], normals.sd[0, 0, 182 + 12]  # 13 July
    july[0, 0, 12] = mean + 5.95 * sd
    assert ("tmax_c", 0, 12) not in flags_of(july, normals=far)

    july[0, 0, 12] = mean + 6.05 * sd
    assert flags_of(july, normals=far)[("tmax_c", 0, 12)] == Flag.OUTLIER


def test_rain_beyond_nine_times_a_very_wet_day_is_suspect_and_five_times_in_frost(july, normals):
    very_wet = float(normals.wet_p95[0, 182 + 12])
    july[ROW["rain_mm"], 0, 12] = 9.1 * very_wet
    assert flags_of(july, normals=normals) == {("rain_mm", 0, 12): Flag.RAIN_OUTLIER}

    july[ROW["rain_mm"], 0, 12] = 8.9 * very_wet
    assert flags_of(july, normals=normals) == {}

    winter = invented(20, start=date(2013, 1, 5), seed=3)
    winter[ROW["rain_mm"], 0, 8] = 6.0 * float(normals.wet_p95[0, 12])
    winter[[0, 1, 4], 0, 8] = -3.0, -9.0, -10.0
    assert flags_of(winter, date(2013, 1, 5), normals=normals) == {
        ("rain_mm", 0, 8): Flag.RAIN_OUTLIER
    }


def test_with_fewer_than_five_years_nothing_is_called_unusual(july):
    four = normals_of(invented(4 * 365 + 1), START, QUANTITY_NAMES)
    july[ROW["tmax_c"], 0] += 15.0  # all of it, so that nothing jumps

    assert flags_of(july, normals=four) == {}


def test_years_of_values_are_held_against_themselves():
    values = invented(6 * 365 + 2)
    values[ROW["tmin_c"], 0, 900] = -44.0
    values[ROW["tmax_c"], 0, 1300] = 55.0

    found = flags_of(values, START)

    ruled_out = {at for at, flag in found.items() if flag & Flag.GAP}
    assert ruled_out == {("tmin_c", 0, 900), ("tmax_c", 0, 1300)}


def test_another_source_far_off_on_the_day_and_beside_it_makes_a_value_suspect(july):
    other = july.copy()
    other[ROW["tmax_c"], 0] += 8.0
    other[ROW["tmax_c"], 0, 5] = july[ROW["tmax_c"], 0, 5] + 4.0

    found = flags_of(july, other=other)

    assert set(found.values()) == {Flag.CROSS}
    assert {at[0] for at in found} == {"tmax_c"}
    assert ("tmax_c", 0, 5) not in found


def test_heavy_rain_that_the_other_has_on_no_day_near_is_suspect():
    own, other = np.zeros((1, 9)), np.zeros((1, 9))
    own[0, 4] = 30.0

    assert np.flatnonzero(contradicts("rain_mm", own, other)[0]).tolist() == [4]
    assert np.flatnonzero(contradicts("rain_mm", other, own)[0]).tolist() == [4]


@pytest.mark.parametrize("day", [3, 5])
def test_the_same_rain_a_day_off_is_another_beginning_of_the_day(day):
    own, other = np.zeros((1, 9)), np.zeros((1, 9))
    own[0, 4], other[0, day] = 30.0, 28.0

    assert not contradicts("rain_mm", own, other).any()


def test_extremes_a_day_off_are_another_beginning_of_the_day():
    own = np.array([[20.0, 20.0, 31.0, 20.0, 20.0]])
    later, never = np.roll(own, 1, axis=1), np.full((1, 5), 20.0)

    assert not contradicts("tmax_c", own, later)[0, 2]
    assert not contradicts("tmax_c", own, np.roll(own, -1, axis=1))[0, 2]
    assert contradicts("tmax_c", own, never)[0].tolist() == [False, False, True, False, False]


def test_heavy_rain_is_not_judged_before_the_days_on_both_sides_are_known():
    own, other = np.zeros((1, 5)), np.zeros((1, 5))
    own[0, 4] = 30.0

    assert not contradicts("rain_mm", own, other).any()


def test_the_cells_of_an_answer_do_not_touch_each_other(july):
    three = np.repeat(july, 3, axis=1)
    three[ROW["wind_m_s"], 1, 12] = 99.0
    three[ROW["tmax_c"], 1, 20:26] = 27.5

    found = flags_of(three)

    assert {at[1] for at in found} == {1}


def test_an_answer_with_fewer_quantities_is_checked_for_what_it_has(july):
    rain_only = july[[ROW["rain_mm"]]]
    rain_only[0, 0, 4] = 700.0
    block = block_of(rain_only, JULY, ("rain_mm",))

    flags = check_block(block, Context())

    assert np.argwhere(flags).tolist() == [[0, 0, 4]]
