"""A night run again before anybody is awake: one message at eight, of what holds by then."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service.nights.record import record
from rootbound_service.records import ConsentEvent, Contact
from rootbound_service.store.contacts import put_contact
from rootbound_service.store.people import list_people
from rootbound_service.store.schema import outbox, outbox_image, outbox_note
from rootbound_service.store.taken_back import take_back
from service.nights.rig import DRY, MAREN, YEAR, a_field, a_rig

CLIMB = date(YEAR, 7, 2)
"""A night on which every field of wall class 2 has left ample under DRY."""


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, DRY) as made:
        made.enrol(a_field("Long Acre", adviser=None))
        yield made


def rows(rig, *columns, of=outbox):
    with rig.service.engine.connect() as conn:
        return conn.execute(select(*columns or [of]).order_by(*of.primary_key)).all()


def test_a_field_that_comes_before_the_morning_is_told_in_the_same_message(rig):
    rig.night(CLIMB)
    rig.enrol(a_field("Late Comer", adviser=None))
    rig.night(CLIMB)

    (row,) = rows(rig)
    assert "Long Acre" in row.text
    assert "Late Comer" in row.text
    rig.send()
    assert len(rig.box.to(MAREN.email)) == 1


def test_what_a_mended_night_no_longer_says_is_taken_back_unread(rig):
    rig.night(CLIMB)
    rig.at(CLIMB)
    assert len(rows(rig)) == 1

    decided = decided_of(rig)
    record(rig.service.parts, decided[0], [replace(one, note=None) for one in decided[1]])

    assert rows(rig) == []
    for table in (outbox_note, outbox_image):
        assert rows(rig, table.c.outbox_id, of=table) == []


def test_a_run_that_found_no_answer_takes_nothing_back(rig):
    rig.night(CLIMB)
    first = rows(rig, outbox.c.dedupe_key)

    gathered, decided = decided_of(rig)
    dark = [replace(one, note=None, risk=replace(one.risk, status="unknown")) for one in decided]
    record(rig.service.parts, gathered, dark)

    assert rows(rig, outbox.c.dedupe_key) == first


def test_the_same_run_three_times_still_has_its_message(rig):
    for changed in (False, True, False):
        gathered, decided = decided_of(rig)
        noted = [replace(one, note=None) if changed else one for one in decided]
        record(rig.service.parts, gathered, noted)

    assert len(rows(rig)) == 1


def test_what_was_just_sent_stays_and_the_rest_waits_a_day(rig, monkeypatch):
    rig.night(CLIMB)
    rig.enrol(a_field("Late Comer", adviser=None))

    def too_late(conn, ids):
        conn.execute(update(outbox).values(status="sending", attempts=1))
        return take_back(conn, ids)

    monkeypatch.setattr("rootbound_service.nights.record.take_back", too_late)
    rig.night(CLIMB)

    first, second = rows(rig)
    assert second.available_at - first.available_at == timedelta(days=1)
    assert second.not_after - first.not_after == timedelta(days=1)


def test_a_second_address_of_a_person_is_written_to_as_well(rig):
    with rig.service.engine.begin() as conn:
        (maren,) = list_people(conn)
        agreed = ConsentEvent(0, "given", rig.clock.now(), "command", "Yes.")
        put_contact(conn, Contact(maren.id, "email", "farm@alder.example"), agreed)
    rig.night(CLIMB)
    rig.send()

    assert len(rig.box.to(MAREN.email)) == len(rig.box.to("farm@alder.example")) == 1
    assert rig.night(CLIMB).messages == 0


def test_a_note_that_cannot_be_put_together_stops_no_other(rig, monkeypatch):
    from rootbound_service.nights import letters

    rig.enrol(a_field("Church Forty", adviser=None))
    whole = letters.facts_of

    def broken(one, said):
        if one.computed.field.name == "Long Acre":
            raise ValueError("no such stage")
        return whole(one, said)

    monkeypatch.setattr(letters, "facts_of", broken)
    report = rig.night(CLIMB)

    assert [line for line in report.failures if "Long Acre" in line and "no such stage" in line]
    (message,) = [one for one in rows(rig) if one.kind == "note"]
    assert "Church Forty" in message.text


def decided_of(rig):
    """Compute the night without recording it."""
    from rootbound_service.nightly import decide_all
    from rootbound_service.nights.gather import gather

    rig.at(CLIMB)
    gathered = gather(rig.service.parts, CLIMB, past=True)
    return gathered, decide_all(gathered, rig.service.settings.weather_stale_days)
