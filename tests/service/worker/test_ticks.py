"""What is due now: nights and letters at their hours, after outages, and never twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from rootbound_service.records import Contact, Person
from rootbound_service.store.runs import last_run
from rootbound_service.telling.digest_day import due_day
from rootbound_service.worker.ticks import digest_tick, night_now, night_tick, send_tick
from service.nights.rig import DRY, INES, MAREN, OPERATOR, YEAR, a_field, a_rig

SUNDAY = date(YEAR, 6, 14)
MONDAY = SUNDAY + timedelta(days=1)
TUESDAY = MONDAY + timedelta(days=1)
BEN = Person("Ben Marsh", "ben@alder.example", "grower", "metric", "Europe/Berlin")


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY) as made:
        made.enrol(a_field("Long Acre"))
        made.bring(SUNDAY - timedelta(days=7))
        yield made


def at(rig, day: date, hour: int, minute: int = 0):
    rig.at(day, time(hour, minute))
    return rig.service


@pytest.mark.parametrize(
    ("moment", "night"),
    [
        ("2026-06-15T08:59", date(2026, 6, 14)),
        ("2026-06-15T09:00", date(2026, 6, 15)),
        ("2026-06-16T00:00", date(2026, 6, 15)),
    ],
)
def test_a_night_begins_at_nine_utc(moment, night):
    assert night_now(datetime.fromisoformat(moment).replace(tzinfo=UTC)) == night


def test_the_night_is_run_once_a_day_however_often_it_is_asked(rig):
    asked = [(8, 50), (9, 0), (9, 10), (15, 0), (23, 59)]
    ran = [night_tick(at(rig, MONDAY, *moment)) for moment in asked]

    assert [report.night if report else None for report in ran] == [
        SUNDAY,
        MONDAY,
        None,
        None,
        None,
    ]


def test_after_three_days_without_the_worker_only_tonight_is_run(rig):
    night_tick(at(rig, SUNDAY, 9, 30))
    later = SUNDAY + timedelta(days=4)
    report = night_tick(at(rig, later, 17))

    assert report is not None
    assert report.night == later
    assert night_tick(rig.service) is None
    assert [row.night for row in rig.rows("Long Acre")] == [SUNDAY, later]


def test_a_night_that_breaks_off_is_told_once_and_tried_again(rig, monkeypatch):
    def broken(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("rootbound_service.nightly.record", broken)
        for minute in (0, 10, 20):
            with pytest.raises(OSError, match="No space"):
                night_tick(at(rig, MONDAY, 9, minute))
    report = night_tick(at(rig, MONDAY, 9, 30))
    send_tick(rig.service)

    assert report is not None
    assert rig.subjects(OPERATOR) == ["Night of 2026-06-15: it could not be run"]
    assert "OSError: [Errno 28] No space left on device" in rig.text_to(OPERATOR)


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        ("2026-06-15T12:59", None),  # 7:59 in Chicago
        ("2026-06-15T13:00", 15),
        ("2026-06-17T04:59", 15),  # Tuesday 23:59
        ("2026-06-17T05:00", None),
        ("2026-03-09T12:59", None),  # the Monday after the clocks went forward
        ("2026-03-09T13:00", 9),
        ("2026-11-02T13:59", None),  # the Monday after they went back
        ("2026-11-02T14:00", 2),
    ],
)
def test_a_letter_is_due_from_eight_of_the_readers_day_until_the_next_night(moment, day):
    monday = Contact(1, "email", MAREN.email, digest_day=0)
    due = due_day(monday, MAREN.time_zone, datetime.fromisoformat(moment).replace(tzinfo=UTC))

    assert (due and due.day) == day


def test_a_letter_may_be_wanted_on_another_day_or_not_at_all():
    friday = datetime(2026, 6, 19, 15, tzinfo=UTC)

    assert due_day(Contact(1, "email", "a@b.example", digest_day=4), "America/Denver", friday)
    assert due_day(Contact(1, "email", "a@b.example"), "America/Denver", friday) is None


def test_a_letter_comes_once_a_week_though_the_tick_comes_every_ten_minutes(rig):
    for week in range(2):
        day = MONDAY + timedelta(days=7 * week)
        night_tick(at(rig, day, 9))
        assert digest_tick(at(rig, day, 12, 50)) == 0
        assert digest_tick(at(rig, day, 13)) == 2  # the grower's and the adviser's
        assert digest_tick(at(rig, day, 13, 10)) == 0
        assert digest_tick(at(rig, day + timedelta(days=1), 8)) == 0
    send_tick(at(rig, MONDAY + timedelta(days=7), 14))

    assert [subject[:8] for subject in rig.subjects(MAREN.email)] == ["Week 26:"]


def test_a_tick_with_nothing_to_write_computes_nothing(rig, monkeypatch):
    night_tick(at(rig, MONDAY, 9))
    digest_tick(at(rig, MONDAY, 13))

    def never(*_, **__):
        raise AssertionError("nothing is due, nothing is to be computed")

    monkeypatch.setattr("rootbound_service.weekly.gather", never)
    assert digest_tick(at(rig, MONDAY, 13, 10)) == 0
    assert digest_tick(at(rig, MONDAY - timedelta(days=3), 13)) == 0


def test_the_letter_waits_for_tonight_and_then_tells_of_it(rig):
    night_tick(at(rig, SUNDAY - timedelta(days=2), 9))
    assert digest_tick(at(rig, MONDAY, 13)) == 0

    night_tick(at(rig, MONDAY, 13))
    assert digest_tick(rig.service) == 2
    send_tick(rig.service)
    assert "night of June 15" in rig.text_to(MAREN.email)


def test_a_monday_missed_by_an_outage_is_made_good_on_tuesday_and_not_on_wednesday(rig):
    night_tick(at(rig, TUESDAY, 22))
    assert digest_tick(rig.service) == 2

    wednesday = TUESDAY + timedelta(days=8)
    night_tick(at(rig, wednesday, 14))
    assert digest_tick(rig.service) == 0


def test_a_crash_before_the_letter_is_stored_does_not_lose_it(rig, monkeypatch):
    night_tick(at(rig, MONDAY, 13))

    def broken(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("rootbound_service.weekly.enqueue", broken)
        assert digest_tick(rig.service) == 0
    assert rig.outbox()["pending"] == 0

    assert digest_tick(at(rig, MONDAY, 13, 10)) == 2
    assert rig.outbox()["pending"] == 2


def test_one_letter_that_cannot_be_written_leaves_the_others(rig, monkeypatch):
    from rootbound_service import weekly

    real = weekly.compose_digest

    def fails_for_one(person, *rest):
        if person.email == INES.email:
            raise ValueError("cannot be worded")
        return real(person, *rest)

    night_tick(at(rig, MONDAY, 13))
    with monkeypatch.context() as patch:
        patch.setattr(weekly, "compose_digest", fails_for_one)
        assert digest_tick(rig.service) == 1
    assert digest_tick(at(rig, MONDAY, 13, 10)) == 1


def test_a_reader_whose_monday_comes_before_the_night_gets_one_letter_a_week(rig):
    rig.enrol(replace(a_field("Far Away"), grower=BEN, adviser=None))
    for week in range(3):
        sunday = SUNDAY + timedelta(days=7 * (week - 1))
        night_tick(at(rig, sunday, 9))
        moments = ((sunday, 23), (sunday + timedelta(days=1), 5))
        if week == 1:  # the worker comes late: after the night of Monday
            moments = ()
            night_tick(at(rig, sunday + timedelta(days=1), 9))
        for day, hour in moments:
            digest_tick(at(rig, day, hour))
        night_tick(at(rig, sunday + timedelta(days=1), 9))
        digest_tick(at(rig, sunday + timedelta(days=1), 14))
        send_tick(rig.service)

    assert len(rig.box.to(BEN.email)) == 3


def test_a_letter_written_by_hand_is_not_written_again_by_the_worker(rig):
    night_tick(at(rig, MONDAY, 9))
    assert rig.service.digest(None) == 2
    assert digest_tick(at(rig, MONDAY, 13)) == 0


def test_a_person_without_a_field_gets_no_letter_and_costs_nothing_more(rig, monkeypatch):
    from rootbound_service.store.people import add_person

    with rig.service.engine.begin() as conn:
        add_person(conn, BEN)
    night_tick(at(rig, MONDAY, 13))
    assert digest_tick(rig.service) == 2

    monkeypatch.setattr("rootbound_service.weekly.gather", None)  # calling it would fail
    assert digest_tick(at(rig, MONDAY, 13, 10)) == 0


def test_a_reader_whose_fields_were_all_finished_a_week_ago_gets_no_more_letters(rig):
    done = date(YEAR, 10, 5)
    night_tick(at(rig, done - timedelta(days=7), 9))
    night_tick(at(rig, done, 13))
    assert rig.row("Long Acre").status == "finished"
    assert digest_tick(rig.service) == 0


def test_sending_goes_on_until_the_outbox_is_empty_and_a_stopped_channel_is_left(rig):
    night_tick(at(rig, date(YEAR, 7, 1), 14))
    rig.box.set_fault(INES.email, "5.7.1", times=1)
    assert send_tick(rig.service) == 1
    assert rig.outbox()["pending"] == 1

    rig.clock.set(rig.clock.now() + timedelta(hours=1))
    assert send_tick(rig.service) == 1
    assert send_tick(rig.service) == 0


def test_a_letter_about_a_field_planted_yesterday_can_be_written(rig):
    rig.enrol(replace(a_field("New"), planted=SUNDAY, digs=()))
    night_tick(at(rig, MONDAY, 13))
    assert digest_tick(rig.service) == 2
    send_tick(rig.service)

    assert "New" in rig.text_to(MAREN.email)
    with rig.service.engine.connect() as conn:
        run = last_run(conn)
    assert run is not None
    assert (run.fields_ok, run.fields_failed) == (2, 0)
