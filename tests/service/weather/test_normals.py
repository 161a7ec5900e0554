"""What is usual by day of the year: slots, pooling, smoothing, rain; held against pandas."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from rootbound_service.weather.calendar_slots import (
    LEAP_DAY,
    SLOTS,
    by_year,
    months_of,
    pooled,
    slots_of,
)
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.normals import PERCENTILES, SUM_DAYS, normals_of, stack
from rootbound_service.weather.slot_statistics import moments, smoothed
from service.weather.weather_rig import ROW, START, invented

DAYS = 10 * 365 + 2  # 2001 to 2010, leap days of 2004 and 2008


@pytest.fixture(scope="module")
def values():
    """Ten invented years of two cells."""
    return invented(DAYS, cells=2)


@pytest.fixture(scope="module")
def normals(values):
    """Of those years."""
    return normals_of(values, START, QUANTITY_NAMES)


def test_each_date_has_its_slot_in_leap_years_and_others():
    days = [date(2019, 12, 31) + timedelta(days=n) for n in range(800)]
    leap = pd.to_datetime([f"2000-{day:%m-%d}" for day in days]).day_of_year - 1

    assert slots_of(days[0], 800).tolist() == leap.tolist()
    assert months_of(days[0], 800).tolist() == [day.month for day in days]


def test_a_common_year_has_no_29_february():
    table = by_year(np.arange(DAYS, dtype=float), START)

    assert table.shape == (10, SLOTS)
    assert np.isnan(table[:, LEAP_DAY]).sum() == 8
    assert np.isnan(table).sum() == 8


def test_the_year_is_a_ring():
    table = np.arange(SLOTS, dtype=float)[None]

    near = pooled(table, 2)

    assert near[0].tolist() == [364, 365, 0, 1, 2]
    assert near[365].tolist() == [363, 364, 365, 0, 1]


def test_means_and_deviations_are_those_of_pandas_before_smoothing(values):
    frame = pd.Series(values[0, 0], pd.date_range(START, periods=DAYS))
    by_day = frame.groupby([frame.index.year, frame.index.strftime("%m-%d")]).first().unstack()  # noqa: PD010  a table of years and dates
    beside = (by_day["02-28"] + by_day["03-01"]) / 2
    by_day["02-29"] = by_day["02-29"].fillna(beside)
    table = by_day.sort_index(axis=1).to_numpy()
    wide = np.concatenate([table[:, -7:], table, table[:, :7]], axis=1)
    mean = [wide[:, d : d + 15].mean() for d in range(SLOTS)]
    sd = [wide[:, d : d + 15].std(ddof=1) for d in range(SLOTS)]

    ours = moments(values[0, 0], START)

    assert np.allclose(ours[0], smoothed(np.array(mean)), atol=1e-9)
    assert np.allclose(ours[1], smoothed(np.array(sd)), atol=1e-9)


def test_percentiles_are_those_of_numpy_over_the_pooled_days(values, normals):
    table = by_year(values, START)
    beside = (table[..., LEAP_DAY - 1] + table[..., LEAP_DAY + 1]) / 2
    leap_day = table[..., LEAP_DAY]
    table[..., LEAP_DAY] = np.where(np.isnan(leap_day), beside, leap_day)

    wanted = np.nanpercentile(pooled(table, 7), PERCENTILES, axis=-1)

    assert np.allclose(normals.percentiles, wanted, rtol=1e-5, atol=1e-5)
    assert np.array_equal(normals.median("wind_m_s"), normals.percentiles[3, ROW["wind_m_s"]])


def test_sums_of_rain_are_those_of_pandas(values, normals):
    rain = pd.Series(values[ROW["rain_mm"], 1], pd.date_range(START, periods=DAYS))
    for row, span in enumerate(SUM_DAYS):
        sums = rain.rolling(span).sum()
        near = sums[[abs((day - pd.Timestamp(day.year, 7, 10)).days) <= 7 for day in sums.index]]
        wanted = np.nanpercentile(near, PERCENTILES)
        assert np.allclose(normals.rain_sums[row, :, 1, 191], wanted, rtol=1e-5)  # 10 July


def test_wet_days_are_counted_from_one_millimetre(values, normals):
    rain = pd.Series(values[ROW["rain_mm"], 0], pd.date_range(START, periods=DAYS))
    from_date = abs(
        rain.index.day_of_year
        - pd.DatetimeIndex([f"{day.year}-07-10" for day in rain.index]).day_of_year
    )
    near, wide = rain[from_date <= 7], rain[from_date <= 14]

    assert normals.wet_fraction[0, 191] == pytest.approx((near >= 1.0).mean(), abs=1e-6)
    assert normals.wet_p95[0, 191] == pytest.approx(np.percentile(wide[wide >= 1.0], 95), rel=1e-5)


def test_smoothing_keeps_three_waves_of_the_year_and_nothing_quicker():
    turn = 2 * np.pi * np.arange(SLOTS) / SLOTS
    slow = 5 + np.cos(turn) + 0.5 * np.sin(2 * turn) + 0.2 * np.cos(3 * turn)

    assert np.allclose(smoothed(slow + np.cos(4 * turn) + np.sin(30 * turn)), slow, atol=1e-9)


def test_the_leap_day_weighs_like_its_neighbours(normals):
    around = normals.mean[0, :, LEAP_DAY - 1 : LEAP_DAY + 2]

    assert np.abs(np.diff(around, axis=1)).max() < 0.3
    assert not np.isnan(normals.percentiles[:, :, :, LEAP_DAY]).any()


def test_the_south_has_its_summer_in_january():
    half_a_year = 183
    north = invented(DAYS + half_a_year)[0]
    south = north[:, half_a_year:]  # the same weather, six months of the calendar apart

    mean, _ = moments(south, START)

    assert np.argmax(mean[0]) in range(40)
    assert np.argmin(mean[0]) in range(165, 225)


def test_the_extremes_of_a_month_are_over_all_its_years(values, normals):
    july = months_of(START, DAYS) == 7

    assert normals.month_high[0, 1, 6] == pytest.approx(values[0, 1, july].max(), rel=1e-6)
    assert normals.month_low[0, 1, 6] == pytest.approx(values[0, 1, july].min(), rel=1e-6)


def test_years_with_most_days_missing_do_not_count(values):
    gappy = values[:, :1].copy()
    gappy[0, 0, : 3 * 365] = np.nan

    assert normals_of(gappy, START, QUANTITY_NAMES).years.tolist() == [7]


def test_a_quantity_without_any_value_has_no_normals_and_disturbs_none(values, normals):
    blind = values.copy()
    blind[ROW["solar_mj"]] = np.nan

    made = normals_of(blind, START, QUANTITY_NAMES)

    assert np.isnan(made.mean[ROW["solar_mj"]]).all()
    assert np.isnan(made.median("solar_mj")).all()
    assert np.array_equal(made.mean[0], normals.mean[0])


def test_cells_are_worked_out_alone_and_stacked_in_order(values, normals):
    second, first = (normals_of(values[:, [c]], START, QUANTITY_NAMES) for c in (1, 0))

    both = stack([first, second])

    for name in ("years", "mean", "sd", "percentiles", "month_low", "wet_p95", "rain_sums"):
        assert np.array_equal(getattr(both, name), getattr(normals, name)), name
