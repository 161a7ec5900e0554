"""Moments and days with their year, by a reader's clock and in their order."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rootbound_service.notes.speech import say

if TYPE_CHECKING:
    from rootbound_service.records import Person


def moment(person: Person, at: datetime) -> str:
    """Give a moment: ``July 14, 2026, 10:05`` or ``14 July 2026, 10:05``.

    Parameters
    ----------
    person
        The reader.
    at
        The moment, aware.
    """
    local = at.astimezone(ZoneInfo(person.time_zone or "UTC"))
    return f"{full_day(person, local.date())}, {local:%H:%M}"


def full_day(person: Person, on: date) -> str:
    """Give a day: ``July 14, 2026`` or ``14 July 2026``.

    Parameters
    ----------
    person
        The reader.
    on
        The day.
    """
    between = ", " if person.units == "us" else " "
    return f"{say.day(on, person.units)}{between}{on.year}"


def local_input(person: Person, at: datetime) -> str:
    """Give a moment as a form's input for day and time takes it.

    Parameters
    ----------
    person
        The reader.
    at
        The moment, aware.
    """
    return at.astimezone(ZoneInfo(person.time_zone or "UTC")).strftime("%Y-%m-%dT%H:%M")


def read_local(person: Person, text: str) -> datetime | None:
    """Read what such an input gave, in UTC; None for what is no moment.

    Parameters
    ----------
    person
        By whose clock it is meant.
    text
        As it came.
    """
    from datetime import UTC

    try:
        found = datetime.fromisoformat(text)
        zone = ZoneInfo(person.time_zone or "UTC")
        return (found if found.tzinfo else found.replace(tzinfo=zone)).astimezone(UTC)
    except (ValueError, OverflowError):
        return None


def ago(now: datetime, at: datetime) -> str:
    """Say how long ago something was, in the largest fitting unit.

    Parameters
    ----------
    now, at
        Aware.
    """
    minutes = max(0, int((now - at).total_seconds() // 60))
    for many, unit in ((minutes // 1440, "day"), (minutes // 60, "hour"), (minutes, "minute")):
        if many >= (2 if unit != "minute" else 0):
            return f"{many} {unit}{'' if many == 1 else 's'} ago"
    return "just now"
