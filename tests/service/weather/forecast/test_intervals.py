"""Intervals are read as ISO 8601 means them, and local days are as long as their clocks say."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.weather.forecast.intervals import (
    day_edges,
    local_day,
    overlap,
    read_instant,
    read_interval,
)

HOUR = 3600.0
BEGIN = "2026-07-06T03:00:00+00:00"


@pytest.mark.parametrize(
    ("length", "hours"),
    [
        ("PT1H", 1),
        ("PT3H", 3),
        ("PT10H", 10),
        ("P1D", 24),
        ("P1DT6H", 30),
        ("P2DT3H", 51),
        ("P6DT15H", 159),
        ("PT30M", 0.5),
        ("PT90S", 0.025),
        ("P1DT1H1M1S", 25 + 61 / 3600),
    ],
)
def test_lengths_of_merged_hours_are_read(length, hours):
    interval = read_interval(f"{BEGIN}/{length}")

    assert interval.begin == datetime(2026, 7, 6, 3, tzinfo=UTC).timestamp()
    assert interval.seconds == pytest.approx(hours * HOUR)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "/",
        BEGIN,
        f"{BEGIN}/",
        f"{BEGIN}/P",
        f"{BEGIN}/PT",
        f"{BEGIN}/PT0H",
        f"{BEGIN}/P1M",
        f"{BEGIN}/PT1H\n",
        f"{BEGIN}/PT-1H",
        f"{BEGIN}/PT1.5H",
        f"{BEGIN}/PT\u0661H",
        f"{BEGIN}/P99999999999D",
        f"{BEGIN}/2026-07-06T04:00:00+00:00",
        "2026-07-06T03:00:00/PT1H",
        "0001-01-01T00:00:00+14:00/PT1H",
        "9999-12-31T23:00:00-14:00/PT1H",
        "NOW/PT1H",
    ],
)
def test_what_is_no_interval_is_no_interval(text):
    with pytest.raises(ValueError, match=r"interval|zone|isoformat|end of time"):
        read_interval(text)


@given(
    begin=st.datetimes(
        min_value=datetime(1990, 1, 1),  # noqa: DTZ001
        max_value=datetime(2090, 1, 1),  # noqa: DTZ001
        timezones=st.timezones(),
        allow_imaginary=False,
    ),
    days=st.integers(0, 20),
    hours=st.integers(0, 99),
    minutes=st.integers(0, 99),
    seconds=st.integers(0, 99),
)
def test_every_interval_is_as_long_as_another_library_says(begin, days, hours, minutes, seconds):
    """Oracle: pandas.Timedelta and pandas.Timestamp."""
    length = f"P{days}DT{hours}H{minutes}M{seconds}S"
    expected = pd.Timedelta(length)
    text = f"{begin.isoformat()}/{length}"
    if expected == pd.Timedelta(0):
        with pytest.raises(ValueError, match="empty"):
            read_interval(text)
        return

    interval = read_interval(text)

    assert interval.begin == pytest.approx(pd.Timestamp(begin.isoformat()).timestamp(), abs=1e-3)
    assert interval.seconds == pytest.approx(expected.total_seconds(), abs=1e-3)


@given(st.text(max_size=60))
def test_any_text_is_an_interval_or_a_value_error(text):
    for read in (read_interval, read_instant):
        try:
            read(text)
        except ValueError:
            continue


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("America/Chicago", date(2026, 3, 8), 23),
        ("America/Chicago", date(2026, 11, 1), 25),
        ("America/Chicago", date(2026, 7, 6), 24),
        ("America/Phoenix", date(2026, 3, 8), 24),
        ("America/Havana", date(2026, 3, 8), 23),  # midnight itself is skipped
        ("America/Havana", date(2026, 11, 1), 25),  # midnight comes twice
    ],
)
def test_days_are_as_long_as_their_clocks_say(zone, day, hours):
    edges = day_edges(day, 1, ZoneInfo(zone))

    assert np.diff(edges) == [hours * HOUR]
    assert local_day(edges[0], ZoneInfo(zone)) == day
    assert local_day(edges[0] - 1, ZoneInfo(zone)) == day - timedelta(days=1)
    assert local_day(edges[1] - 1, ZoneInfo(zone)) == day


@given(
    zone=st.sampled_from(["America/Chicago", "America/Adak", "Pacific/Guam", "America/St_Johns"]),
    start=st.dates(date(2020, 1, 1), date(2035, 1, 1)),
)
def test_a_moment_is_in_the_day_whose_edges_hold_it(zone, start):
    there = ZoneInfo(zone)
    edges = day_edges(start, 5, there)

    for hour in np.arange(edges[0], edges[-1], HOUR / 2):
        index = int(np.searchsorted(edges, hour, side="right")) - 1
        assert local_day(hour, there) == start + timedelta(days=index)


@given(
    intervals=st.lists(st.tuples(st.integers(0, 60), st.integers(1, 60)), max_size=6),
    edges=st.lists(st.integers(0, 120), min_size=2, max_size=6, unique=True).map(sorted),
)
def test_what_lies_within_is_what_counting_the_hours_gives(intervals, edges):
    begins = np.array([begin for begin, _ in intervals], dtype=float)
    ends = np.array([begin + length for begin, length in intervals], dtype=float)
    opens, closes = np.array(edges[:-1], dtype=float), np.array(edges[1:], dtype=float)

    counted = [
        [sum(lo <= hour < hi for hour in range(at, at + hours)) for at, hours in intervals]
        for lo, hi in pairwise(edges)
    ]

    found = overlap(begins, ends, opens, closes)
    assert found.tolist() == np.array(counted, dtype=float).reshape(found.shape).tolist()
