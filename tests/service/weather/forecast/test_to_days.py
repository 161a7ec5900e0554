"""Hours become local days: held against going through them one by one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.weather.forecast.day import ESTIMATED, PARTIAL
from rootbound_service.weather.forecast.nws_layers import Layer
from rootbound_service.weather.forecast.to_days import LocalDays, highest, lowest, mean, total
from service.weather.forecast.forecast_rig import CHICAGO

HOUR = 3600.0
ZONES = ("America/Chicago", "America/Phoenix", "Pacific/Guam", "America/St_Johns")


def hours_from(begin, *runs):
    """Make a layer from runs of (hours, value); None leaves a gap."""
    at, kept = begin.timestamp(), []
    for hours, value in runs:
        if value is not None:
            kept.append((at, at + hours * HOUR, value))
        at += hours * HOUR
    return Layer(*(np.array([entry[part] for entry in kept], dtype=float) for part in range(3)))


def expand(layer, zone):
    """List every half hour of a layer with its local day, by the standard library alone."""
    for begin, end, value in zip(layer.begins, layer.ends, layer.values, strict=True):
        length = round((end - begin) / HOUR * 2)
        for step in range(length):
            instant = datetime.fromtimestamp(begin, UTC) + step * timedelta(minutes=30)
            yield instant.astimezone(zone).date(), value, length


runs = st.lists(
    st.tuples(st.integers(1, 40), st.one_of(st.none(), st.floats(-40, 40))), min_size=1, max_size=9
)
starts = st.integers(0, 350 * 24).map(
    lambda hours: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(hours=hours)
)


@given(begin=starts, runs=runs, name=st.sampled_from(ZONES))
def test_means_sums_and_cover_are_what_counting_half_hours_gives(begin, runs, name):
    zone = ZoneInfo(name)
    layer = hours_from(begin, *runs)
    days = LocalDays.of(begin.astimezone(zone).date(), 8, zone)
    opens, closes = days.edges[:-1], days.edges[1:]
    told, summed = mean(layer, opens, closes), total(layer, opens, closes)

    counted = list(expand(layer, zone))
    for index in range(days.count):
        day = days.start + timedelta(days=index)
        values = [value for when, value, _ in counted if when == day]
        shares = [value / length for when, value, length in counted if when == day]
        whole = round((closes[index] - opens[index]) / HOUR * 2)
        if not values:
            assert np.isnan(told.values[index])
            assert np.isnan(summed.values[index])
            assert told.made[index] == summed.made[index] == 0
            continue
        assert told.values[index] == pytest.approx(np.mean(values), abs=1e-6)
        assert summed.values[index] == pytest.approx(sum(shares), abs=1e-6)
        assert bool(told.made[index] & PARTIAL) == (len(values) < whole)
        assert bool(summed.made[index] & PARTIAL) == (len(values) < whole)


@given(begin=starts, runs=runs)
def test_no_rain_is_lost_or_won_by_splitting(begin, runs):
    layer = hours_from(begin, *runs)
    first = (begin - timedelta(days=1)).astimezone(CHICAGO).date()
    days = LocalDays.of(first, 20, CHICAGO)

    amounts = total(layer, days.edges[:-1], days.edges[1:]).values

    assert np.nansum(amounts) == pytest.approx(layer.values.sum(), abs=1e-6)


def test_a_slice_over_midnight_is_shared_by_its_hours():
    layer = hours_from(datetime(2026, 7, 7, 0, tzinfo=UTC), (6, 12.0))  # 19:00 to 01:00 there
    days = LocalDays.of(date(2026, 7, 6), 2, CHICAGO)

    rain = total(layer, days.edges[:-1], days.edges[1:])

    assert list(rain.values) == pytest.approx([10.0, 2.0])
    assert list(rain.made) == [PARTIAL, PARTIAL]


def test_a_sum_over_more_than_half_a_day_is_marked_as_estimated():
    layer = hours_from(datetime(2026, 7, 6, 5, tzinfo=UTC), (24, 12.0), (6, 1.0))
    days = LocalDays.of(date(2026, 7, 6), 3, CHICAGO)

    assert list(total(layer, days.edges[:-1], days.edges[1:]).made) == [ESTIMATED, PARTIAL, 0]


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 8), 23), (date(2026, 11, 1), 25)])
def test_on_the_days_the_clocks_change_all_hours_count_and_no_others(day, hours):
    midnight = datetime(day.year, day.month, day.day, tzinfo=CHICAGO).astimezone(UTC)
    layer = hours_from(midnight, (hours, 1.0 * hours), (24, 100.0))
    days = LocalDays.of(day, 2, CHICAGO)
    opens, closes = days.edges[:-1], days.edges[1:]

    assert list(total(layer, opens, closes).values) == pytest.approx([hours, 100.0])
    assert list(total(layer, opens, closes).made) == [ESTIMATED, ESTIMATED]
    assert list(mean(layer, opens, closes).made) == [0, 0]


def test_a_day_is_of_the_highest_that_its_midpoint_is_in_and_a_night_of_the_day_it_ends_in():
    warm = hours_from(datetime(2026, 7, 6, 12, tzinfo=UTC), (13, 32.0), (11, None), (13, 34.0))
    cool = hours_from(datetime(2026, 7, 7, 0, tzinfo=UTC), (14, 20.0), (10, None), (14, 21.0))
    days = LocalDays.of(date(2026, 7, 6), 4, CHICAGO)

    assert highest(warm, days).values.tolist()[:2] == [32.0, 34.0]
    assert np.isnan(highest(warm, days).values[2:]).all()
    assert lowest(cool, days).values.tolist()[1:3] == [20.0, 21.0]
    assert np.isnan(lowest(cool, days).values[[0, 3]]).all()


def test_a_night_that_ends_at_midnight_is_of_the_day_before():
    days = LocalDays.of(date(2026, 7, 6), 2, CHICAGO)
    cool = hours_from(datetime(2026, 7, 6, 18, tzinfo=UTC), (11, 12.0))  # until 24:00 there

    assert lowest(cool, days).values[0] == 12.0
    assert np.isnan(lowest(cool, days).values[1])


def test_equal_neighbours_that_came_merged_are_as_many_days_again():
    days = LocalDays.of(date(2026, 7, 6), 4, CHICAGO)
    warm = hours_from(datetime(2026, 7, 6, 12, tzinfo=UTC), (24 + 13, 32.0))
    cool = hours_from(datetime(2026, 7, 7, 0, tzinfo=UTC), (48 + 14, 20.0))

    assert highest(warm, days).values.tolist()[:2] == [32.0, 32.0]
    assert np.isnan(highest(warm, days).values[2:]).all()
    assert lowest(cool, days).values.tolist()[1:] == [20.0, 20.0, 20.0]
    assert np.isnan(lowest(cool, days).values[0])


def test_of_two_values_for_a_day_the_more_extreme_stays():
    days = LocalDays.of(date(2026, 7, 6), 1, CHICAGO)
    both = hours_from(datetime(2026, 7, 6, 12, tzinfo=UTC), (2, 30.0), (2, 25.0))

    assert highest(both, days).values[0] == 30.0
    assert lowest(both, days).values[0] == 25.0
