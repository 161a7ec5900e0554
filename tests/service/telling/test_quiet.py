"""Quiet hours by the reader's own clock, on the nights on which clocks change too."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootbound_service.telling.quiet import is_quiet, local_time, next_open

ZONES = (
    "America/Chicago",
    "America/New_York",
    "Europe/Paris",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
)


@pytest.mark.parametrize(
    ("moment", "zone", "opens"),
    [
        ("2026-07-14T12:59", "America/Chicago", "2026-07-14T13:00"),  # 7:59
        ("2026-07-15T01:00", "America/Chicago", "2026-07-15T13:00"),  # 20:00
        ("2026-07-14T18:00", "America/Chicago", "2026-07-14T18:00"),
        # the night the clocks went forward in the US: 8:00 is 13:00 UTC from then on
        ("2026-03-08T03:00", "America/Chicago", "2026-03-08T13:00"),
        ("2026-03-07T03:00", "America/Chicago", "2026-03-07T14:00"),
        # and back: the night has an hour more
        ("2026-11-01T03:00", "America/Chicago", "2026-11-01T14:00"),
        ("2026-10-31T03:00", "America/Chicago", "2026-10-31T13:00"),
        # in Europe the clocks change on other nights
        ("2026-03-28T20:00", "Europe/Paris", "2026-03-29T06:00"),
        ("2026-10-24T20:00", "Europe/Paris", "2026-10-25T07:00"),
        # no zone: any hour will do
        ("2026-07-14T03:00", "", "2026-07-14T03:00"),
    ],
)
def test_messages_wait_for_eight_of_the_readers_clock(moment, zone, opens):
    asked, wanted = (datetime.fromisoformat(one).replace(tzinfo=UTC) for one in (moment, opens))

    assert next_open(asked, zone) == wanted
    assert is_quiet(asked, zone) is (asked != wanted)


@given(
    st.datetimes(datetime(2024, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001 - hypothesis sets the zone
    st.sampled_from(ZONES),
)
def test_whatever_the_moment_what_opens_is_open_and_comes_within_half_a_day(moment, zone):
    opens = next_open(moment, zone)

    assert not is_quiet(opens, zone)
    assert timedelta(0) <= opens - moment <= timedelta(hours=13)
    assert opens == moment or opens.astimezone(ZoneInfo(zone)).strftime("%H:%M") == "08:00"


def test_what_the_clock_says_has_its_distance_from_utc():
    moment = datetime(2026, 7, 14, 13, 0, 5, tzinfo=UTC)

    assert local_time(moment, "America/Denver") == "2026-07-14T07:00:05-06:00"
