"""The clock against what services say the time is: RFC 9110 6.6.1 Date, RFC 9111 5.1 Age."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from rootbound_service.public.checkup_clock import ask_the_time, check_clock, time_of
from rootbound_service.public.http import Busy, Reply, Unavailable

NOON = datetime(2026, 7, 14, 12, 0, tzinfo=UTC)
DATE = "Tue, 14 Jul 2026 12:00:00 GMT"
FIRST, SECOND = "https://days.example/api", "https://rain.example"


class FakeCaller:
    """Answers as told, and remembers who was asked."""

    def __init__(self, *answers):
        self.answers, self.asked = list(answers), []

    def get(self, url, _query, who):
        self.asked.append((url, who))
        answer = self.answers.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return answer


def dated(**headers):
    return Reply(404, b"", "text/html", headers)


@pytest.mark.parametrize(
    ("headers", "time"),
    [
        ({"Date": DATE}, NOON),
        ({"Date": DATE, "Age": "90"}, NOON + timedelta(seconds=90)),
        ({"Date": "Tue, 14 Jul 2026 07:00:00 -0500"}, NOON),
        ({"Date": "Tuesday, 14-Jul-26 12:00:00 GMT"}, NOON),  # RFC 850, which RFC 9110 takes
        ({"Date": "Tue Jul 14 12:00:00 2026"}, NOON),  # asctime, likewise
        ({"Date": "yesterday"}, None),
        ({"Date": DATE, "Age": "old"}, None),
        ({"Date": DATE, "Age": "9" * 30}, None),
        ({}, None),
    ],
)
def test_the_time_of_an_answer_is_read_in_every_form_of_the_standard(headers, time):
    assert time_of(headers) == time


@pytest.mark.parametrize("off", [0, 119, -119, 120])
def test_a_clock_within_two_minutes_is_well(off):
    assert check_clock(NOON + timedelta(seconds=off), NOON, "days.example").well


@pytest.mark.parametrize(
    ("off", "said"),
    [
        (timedelta(seconds=121), "is 2 min fast by days.example"),
        (timedelta(hours=-5), "is 5 h slow by days.example"),
        (timedelta(days=400), "is 400 days fast by days.example"),
    ],
)
def test_a_clock_further_off_is_bad_and_ntp_is_named(off, said):
    found = check_clock(NOON + off, NOON, "days.example")

    assert not found.well
    assert found.said == said
    assert "timedatectl set-ntp true" in found.run


def test_the_first_that_tells_the_time_is_enough():
    caller = FakeCaller(dated(Date=DATE))
    (found,) = ask_the_time(caller, [FIRST, SECOND], lambda: NOON)

    assert found.well
    assert caller.asked == [(FIRST, "days.example")]


def test_who_does_not_answer_or_tells_no_time_is_passed_over():
    caller = FakeCaller(Unavailable("x", "is away", retry_later=True), dated(), dated(Date=DATE))
    (found,) = ask_the_time(caller, [FIRST, SECOND, FIRST], lambda: NOON + timedelta(hours=1))

    assert not found.well
    assert len(caller.asked) == 3


def test_a_service_too_busy_to_answer_still_tells_the_time():
    caller = FakeCaller(Busy("x", Reply(503, b"", "", {"Date": DATE})))

    assert ask_the_time(caller, [FIRST], lambda: NOON)[0].well


def test_a_server_on_this_machine_has_this_clock_and_is_not_asked():
    caller = FakeCaller()
    homes = ["http://127.0.0.1:8080", "http://localhost", "http://[::1]:9"]

    assert ask_the_time(caller, homes, lambda: NOON) == []
    assert caller.asked == []
