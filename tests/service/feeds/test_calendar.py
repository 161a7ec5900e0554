"""Dates to go and look, read by a parser that is not ours."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import icalendar
import pytest
import vobject

from rootbound_service.feeds.calendar import SOON, calendar_of, visits_of
from rootbound_service.feeds.stand import Night, Stand
from rootbound_service.records import DigRecord
from service.feeds.scene import FIRST, ISSUER, a_field, a_row, a_stand, night_at

SILK = "Silking, walk it at sunrise: Long Acre"
YOUNG = {"V2": "2026-07-08", "V6": "2026-07-20", "V8": "2026-07-27"}


def events(*stands):
    raw = calendar_of(stands, ISSUER).decode()
    calendar = vobject.readOne(raw)
    return raw, {one.summary.value: one for one in calendar.contents.get("vevent", [])}


def stand_with(days, rung=0, status="watched", short=None, **changes):
    night, at = night_at(0)
    ahead = {"days": days, "short": {"middle": short} if short else None}
    row = a_row(night, rung, status, detail={"ahead": ahead})
    return Stand(a_field(**changes), (Night(night, at, row),))


def kinds(stand):
    return [(one.kind, one.first.isoformat(), one.last.isoformat()) for one in visits_of(stand)]


def test_dates_are_whole_days_whose_end_is_not_included():
    """RFC 5545 3.6.1 and 3.8.2.7, by vobject."""
    silk = events(a_stand(2))[1][SILK]

    assert silk.dtstart.value == date(2026, 7, 17)
    assert silk.dtend.value == date(2026, 7, 24)
    assert silk.transp.value == "TRANSPARENT"
    assert silk.uid.value == "silk-107@rootbound.example"
    assert "811" in silk.description.value


def test_the_calendar_reads_back_in_the_second_parser_as_well():
    raw, _ = events(a_stand(2, name="Acre; the east, one"))
    calendar = icalendar.Calendar.from_ical(raw)
    (event,) = calendar.walk("VEVENT")

    assert calendar["method"] == "PUBLISH"
    assert calendar["version"] == "2.0"
    assert event["summary"].endswith("Acre; the east, one")
    assert event["geo"].to_ical() == "41.62;-94.92"


def test_lines_are_folded_at_75_octets_and_end_with_crlf():
    """RFC 5545 3.1."""
    raw, _ = events(
        a_stand(2, name="Åse's very long acre beyond the mill, the church; and the creek")
    )

    assert max(len(line.encode()) for line in raw.split("\r\n")) <= 75
    assert "\n" not in raw.replace("\r\n", "")


def test_no_control_character_of_a_name_gets_into_a_calendar():
    """RFC 5545 3.1: TEXT has no CONTROL but the tab."""
    raw, found = events(a_stand(2, name="Long\x07\x85 Acre\u2028"))

    assert list(found) == [SILK]
    assert not [one for one in raw.replace("\r\n", "") if ord(one) < 32]


def test_a_later_night_and_a_night_run_again_have_a_greater_number():
    """RFC 5545 3.8.7.4: programs take the greater SEQUENCE."""
    first = a_stand(2)
    again = replace(first.nights[0], told_at=first.nights[0].told_at + timedelta(hours=2))
    numbers = [
        int(events(one)[1][SILK].sequence.value)
        for one in (first, replace(first, nights=(again,)), a_stand(2, 2))
    ]

    assert numbers == sorted(set(numbers))
    assert max(numbers) < 2**31


def test_a_calendar_without_dates_has_a_component_all_the_same():
    """RFC 5545 3.6: a calendar must have at least one component."""
    raw, found = events(a_stand("finished"))

    assert found == {}
    assert "BEGIN:VTIMEZONE" in raw
    assert "BEGIN:VTIMEZONE" in events()[0]


def test_a_field_that_nobody_dug_has_its_dig_window_until_the_sixth_collar_shows():
    undug = stand_with(YOUNG, status="unrated", digs=())

    assert kinds(undug) == [("dig", "2026-07-08", "2026-07-19")]


def test_a_window_that_is_over_is_no_date_and_one_to_come_is():
    assert kinds(stand_with({"V2": "2026-06-20", "V6": "2026-07-10"}, digs=())) == []
    assert kinds(stand_with({"V2": "2026-07-15", "V6": "2026-07-25"}, digs=())) != []


@pytest.mark.parametrize(
    ("card", "worth"),
    [
        (DigRecord(date(2026, 7, 9), 2), True),
        (DigRecord(date(2026, 7, 9), 0, pan_class=2), True),
        (DigRecord(date(2026, 7, 9), 0), False),  # nothing holds its roots
        (DigRecord(date(2026, 7, 21), 2), False),  # dug late enough to know
    ],
)
def test_a_second_dig_is_for_roots_that_were_held_before_v6(card, worth):
    found = kinds(stand_with(YOUNG, digs=(card,)))

    assert found == ([("dig-again", "2026-07-20", "2026-07-27")] if worth else [])


def test_a_crop_without_a_published_window_has_no_dig_date():
    assert kinds(stand_with(YOUNG, crop="soybean", digs=())) == []


@pytest.mark.parametrize(("rung", "status"), [(1, "watched"), (3, "watched")])
def test_stress_that_is_near_is_a_date_where_a_field_draws_down(rung, status):
    found = kinds(stand_with({}, rung, status, short="2026-07-16"))

    assert found == [("stress", "2026-07-14", "2026-07-16")]


@pytest.mark.parametrize(
    ("rung", "status", "short"),
    [
        (0, "watched", "2026-07-16"),
        (1, "unrated", "2026-07-16"),  # that of free roots
        (2, "watched", (FIRST + SOON + timedelta(days=1)).isoformat()),
        (2, "watched", "2026-07-09"),
        (None, "unknown", "2026-07-16"),
    ],
)
def test_stress_far_off_or_not_looming_is_no_date(rung, status, short):
    assert kinds(stand_with({}, rung, status, short=short)) == []


def test_another_crop_flowers_by_its_own_word():
    (title,) = events(a_stand(2, crop="soybean"))[1]

    assert "Silking" not in title
    assert title.endswith("walk it at sunrise: Long Acre")


def test_a_field_without_a_night_has_no_dates():
    assert events(Stand(a_field(), ()))[1] == {}
