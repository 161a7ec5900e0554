"""The clocks tell aware UTC times."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from rootbound_service.clock import Clock, SetClock, SystemClock

PLAINS = timezone(timedelta(hours=-5))


def test_a_set_clock_tells_its_time_in_utc_until_it_is_set_again() -> None:
    clock = SetClock(datetime(2026, 7, 14, 6, 0, tzinfo=PLAINS))
    first, again = clock.now(), clock.now()
    clock.set(datetime(2026, 7, 15, 6, 0, tzinfo=PLAINS))

    assert first == again == datetime(2026, 7, 14, 11, 0, tzinfo=UTC)
    assert first.tzinfo is UTC
    assert clock.now() - first == timedelta(days=1)


def test_a_set_clock_refuses_a_time_without_a_zone() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        SetClock(datetime(2026, 7, 14, 6, 0))  # noqa: DTZ001 - this is what must be refused


def test_the_system_clock_goes_on_in_utc() -> None:
    clock: Clock = SystemClock()
    first = clock.now()

    assert first.tzinfo is UTC
    assert first <= clock.now()
