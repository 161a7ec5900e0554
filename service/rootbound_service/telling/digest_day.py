"""Whose weekly letter is due: from eight on their own day, and through the day after."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from rootbound_service.records import Contact, Person
from rootbound_service.telling.quiet import OPENS


@dataclass(frozen=True, slots=True)
class Reader:
    """One way a person gets their letter, and the week it is of."""

    person: Person
    contact: Contact
    week: str
    """As ``2026-W29``."""


def week_of(day: date) -> str:
    """Name of the week of a day, as ``2026-W29``.

    Parameters
    ----------
    day
        The day.
    """
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def due_day(contact: Contact, zone: str, now: datetime) -> date | None:
    """Give the day whose letter is due: today from eight on, yesterday all day; None: none is.

    Parameters
    ----------
    contact
        With the weekday it wants.
    zone
        The reader's time zone.
    now
        The time, aware.
    """
    if contact.digest_day is None:
        return None
    there = now.astimezone(ZoneInfo(zone))
    today, yesterday = there.date(), there.date() - timedelta(days=1)
    if today.weekday() == contact.digest_day and there.time() >= OPENS:
        return today
    return yesterday if yesterday.weekday() == contact.digest_day else None


def due_readers(
    people: Iterable[Person], contacts: Mapping[int, Iterable[Contact]], now: datetime
) -> list[Reader]:
    """Give everybody whose letter is due, by each way they want it.

    Parameters
    ----------
    people
        Everybody.
    contacts
        Their contacts by person.
    now
        The time, aware.
    """
    return [
        Reader(person, contact, week_of(day))
        for person in people
        for contact in contacts.get(person.id, ())
        if contact.channel == "email" and (day := due_day(contact, person.time_zone, now))
    ]
