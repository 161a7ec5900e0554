"""Contacts, consent, suppression, silence: rows that are only added, on both databases."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import func, select

from rootbound_service.clock import SetClock
from rootbound_service.records import ConsentEvent, Contact, Silence
from rootbound_service.store.contacts import (
    consents,
    consents_of,
    contacts_of,
    find_contacts,
    put_contact,
)
from rootbound_service.store.people import add_person, change_person, list_people
from rootbound_service.store.schema import consent_event, contact, suppression
from rootbound_service.store.silences import put_silence, silenced_fields
from rootbound_service.store.suppressions import (
    address_hash,
    lift,
    suppress,
    suppressed,
    suppressed_of,
    suppressions_of,
)
from rootbound_service.telling.book import load_book
from rootbound_service.telling.stopping import start, stop
from service.store.conftest import GROWER, Engine

NUMBER = "+15155550121"


@pytest.fixture
def person(store: Engine, clock: SetClock):
    with store.begin() as conn:
        return add_person(conn, GROWER, clock.now())


def test_somebody_new_is_told_everything_by_mail_and_that_they_agreed_is_kept(store, clock, person):
    with store.connect() as conn:
        (mail,) = contacts_of(conn)
        event = consents(conn, [mail.id])[mail.id]

    assert (mail.channel, mail.address, mail.least_rung, mail.digest_day) == (
        "email", GROWER.email, 0, 0,
    )  # fmt: skip
    assert (event.kind, event.at, event.how) == ("given", clock.now(), "enrolment")
    assert event.wording


def test_what_is_wanted_changes_and_what_was_agreed_stays(store, clock, person):
    agreed = ConsentEvent(0, "given", clock.now(), "command", "I agree.", "yes")
    with store.begin() as conn:
        first = put_contact(conn, Contact(person.id, "text", NUMBER, least_rung=2), agreed)
        again = put_contact(conn, Contact(person.id, "text", NUMBER, least_rung=4), None)
        events = conn.scalar(select(func.count()).where(consent_event.c.contact_id == first.id))

    assert (again.id, again.least_rung, events) == (first.id, 4, 1)


def test_an_address_is_found_whatever_its_case(store, person):
    with store.connect() as conn:
        assert find_contacts(conn, "email", GROWER.email.upper())
        assert not find_contacts(conn, "text", GROWER.email)


def test_stopping_and_starting_are_rows_that_are_only_added(store, clock, person):
    with store.begin() as conn:
        (mail,) = contacts_of(conn)
        for n in range(2):
            stop(conn, mail, "all", "page", "", clock.now() + timedelta(hours=n))
        assert suppressed(conn, "email", mail.address) == {"all"}
        assert start(conn, mail, "page", "", clock.now())
        assert suppressed(conn, "email", mail.address) == frozenset()
        assert conn.scalar(select(func.count()).select_from(suppression)) == 3
        assert conn.scalar(select(func.count()).select_from(consent_event)) == 4


def test_who_never_agreed_is_not_started(store, clock, person):
    with store.begin() as conn:
        phone = put_contact(conn, Contact(person.id, "text", NUMBER), None)
        suppress(conn, "text", NUMBER, "all", "stop", clock.now())

        assert not start(conn, phone, "text", "START", clock.now())
        assert suppressed(conn, "text", NUMBER) == {"all"}


def test_whoever_stops_has_not_agreed_by_that(store, clock, person):
    with store.begin() as conn:
        phone = put_contact(conn, Contact(person.id, "text", NUMBER), None)
        stop(conn, phone, "all", "text", "STOP", clock.now())

        assert consents(conn, [phone.id]) == {}
        assert not start(conn, phone, "text", "START", clock.now())
        assert suppressed(conn, "text", NUMBER) == {"all"}
        assert phone.id not in load_book(conn, clock.now().date(), clock.now()).agreed


def test_everything_that_was_said_is_kept_in_order(store, clock, person):
    with store.begin() as conn:
        (mail,) = contacts_of(conn)
        stop(conn, mail, "digest", "text", "no more letters", clock.now())
        start(conn, mail, "text", "START", clock.now())

        kinds = [(one.kind, one.said) for one in consents_of(conn, mail.id)]
        rows = [(one.scope, one.lifted) for one in suppressions_of(conn, "email", mail.address)]
    assert kinds == [("given", ""), ("withdrawn", "no more letters"), ("restored", "START")]
    assert rows == [("digest", False), ("all", True)]


def test_scopes_are_stopped_and_lifted_by_themselves(store, clock, person):
    with store.begin() as conn:
        for scope in ("note", "digest"):
            suppress(conn, "email", GROWER.email, scope, "page", clock.now())
        lift(conn, "email", GROWER.email, "note", "page", clock.now())

        assert suppressed(conn, "email", GROWER.email.upper()) == {"digest"}


def test_the_list_of_the_stopped_names_nobody(store, clock, person):
    with store.begin() as conn:
        suppress(conn, "email", GROWER.email, "all", "bounce 5.1.1", clock.now())
        row = conn.execute(select(suppression)).one()

    assert "ada" not in str(row)
    assert row.address_hash == address_hash("email", f" {GROWER.email.upper()} ")
    assert address_hash("text", GROWER.email) != row.address_hash


def test_the_latest_silence_of_a_field_counts(store, clock, season_id):
    day = date(2026, 7, 14)
    with store.begin() as conn:
        owner = conn.scalars(select(contact.c.person_id).order_by(contact.c.id)).first()
        for until in (day + timedelta(days=9), day + timedelta(days=2)):
            put_silence(conn, Silence(owner, 1, until, clock.now(), "page"))

        assert silenced_fields(conn, owner, day) == {1: day + timedelta(days=2)}
        assert silenced_fields(conn, owner, day + timedelta(days=3)) == {}


@pytest.mark.parametrize(
    ("hour_utc", "silent"),
    [
        ("2026-07-14T23:00", True),  # 18:00 of the last silent day in Chicago
        ("2026-07-15T02:00", False),  # 21:00 of that day: what is written now is read tomorrow
        ("2026-07-15T09:30", False),  # 4:30 of the day after
    ],
)
def test_a_silence_ends_with_the_readers_own_day(store, clock, season_id, hour_utc, silent):
    now = datetime.fromisoformat(hour_utc).replace(tzinfo=UTC)
    with store.begin() as conn:
        ada = next(one for one in list_people(conn) if one.email == GROWER.email)
        put_silence(conn, Silence(ada.id, 1, date(2026, 7, 14), clock.now(), "page"))
        book = load_book(conn, now.date(), now)

    assert bool(book.silent[ada.id]) is silent


def test_how_somebody_reads_is_changed(store, person):
    with store.begin() as conn:
        changed = change_person(conn, person.id, {"units": "metric"})

    assert changed == replace(person, units="metric")


def test_more_people_than_one_query_takes_are_all_looked_up(store, clock, person):
    numbers = [f"+1515{n:07d}" for n in range(12_000)]
    with store.begin() as conn:
        suppress(conn, "text", numbers[-1], "all", "stop", clock.now())
        stands = suppressed_of(conn, [address_hash("text", one) for one in numbers])
        (mail,) = contacts_of(conn)

        assert list(consents(conn, range(70_000))) == [mail.id]
    assert [one for one in stands.values() if one] == [{"all"}]
    assert len(stands) == len(numbers)


def test_the_book_of_a_night_knows_contacts_consent_and_stops(store, clock, season_id):
    with store.begin() as conn:
        every = contacts_of(conn)
        suppress(conn, "email", every[0].address, "note", "page", clock.now())
    with store.connect() as conn:
        book = load_book(conn, clock.now().date(), clock.now())

    assert sum(map(len, book.contacts.values())) == len(every) == 2
    assert book.agreed == {one.id for one in every}
    assert book.stopped[every[0].id] == {"note"}
    assert book.texts == {}
    assert book.earlier == {}
