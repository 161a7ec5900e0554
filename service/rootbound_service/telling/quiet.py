"""Quiet hours: between eight in the evening and eight in the morning of the reader's own clock.

The window is narrower than 47 CFR 64.1200(c)(1), which is about solicitation and ends at nine:
several US states end at eight, and nobody needs a field's news at half past eight.
"""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

OPENS, CLOSES = time(8), time(20)
"""From eight on messages go, from eight in the evening on none; by the reader's wall clock."""


def is_quiet(moment: datetime, zone: str) -> bool:
    """Tell whether a reader is to be left alone.

    Parameters
    ----------
    moment
        Aware.
    zone
        The reader's time zone by its IANA name; empty: any hour will do.
    """
    if not zone:
        return False
    there = moment.astimezone(ZoneInfo(zone)).time()
    return not OPENS <= there < CLOSES


def next_open(moment: datetime, zone: str) -> datetime:
    """Give the first moment from ``moment`` on that is not quiet, in UTC.

    Parameters
    ----------
    moment, zone
        As for :func:`is_quiet`.
    """
    if not is_quiet(moment, zone):
        return moment.astimezone(UTC)
    there = moment.astimezone(ZoneInfo(zone))
    day = there.date() + timedelta(days=there.time() >= CLOSES)
    # the wall clock's eight, whatever the clocks do in the night between: no zone changes at eight
    return datetime.combine(day, OPENS, ZoneInfo(zone)).astimezone(UTC)


def local_time(moment: datetime, zone: str) -> str:
    """What the reader's clock says, with its distance from UTC, as ``2026-07-14T08:00:00-05:00``.

    Parameters
    ----------
    moment, zone
        As for :func:`is_quiet`; an empty zone is UTC.
    """
    return moment.astimezone(ZoneInfo(zone or "UTC")).isoformat(timespec="seconds")
