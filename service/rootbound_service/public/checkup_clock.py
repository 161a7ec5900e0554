"""Whether this machine's clock is right, by what others say the time is."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from rootbound_service.public.checkup_settings import HOME
from rootbound_service.public.finding import Finding
from rootbound_service.public.http import Busy, Unavailable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from rootbound_service.public.http import Caller

MOST_OFF = timedelta(minutes=2)
"""More than any answer is under way. Our choice."""
WHAT = "clock"
MEND, RUN = "let NTP set it, then look with timedatectl", "sudo timedatectl set-ntp true"
WHY = "nights, quiet hours, links and the signatures of mail go by it"


def time_of(headers: Mapping[str, str]) -> datetime | None:
    """Tell what time it was where an answer came from.

    Parameters
    ----------
    headers
        Of the answer.

    Returns
    -------
    datetime or None
        Aware, UTC; None where the answer has no time that can be read.

    References
    ----------
    RFC 9110 6.6.1 (Date), RFC 9111 5.1 (Age): a cache hands on the origin's time, and for
    how many seconds it has kept the answer.
    """
    try:
        said = parsedate_to_datetime(headers.get("Date", ""))
        kept = timedelta(seconds=int(headers.get("Age", "0")))
    except (ValueError, OverflowError):
        return None
    return (said.replace(tzinfo=UTC) if said.tzinfo is None else said.astimezone(UTC)) + kept


def check_clock(ours: datetime, theirs: datetime, who: str) -> Finding:
    """Hold this machine's clock against another's.

    Parameters
    ----------
    ours, theirs
        Taken at the same moment, aware.
    who
        Whose the other is.
    """
    off = ours - theirs
    if abs(off) <= MOST_OFF:
        return Finding(WHAT, well=True, said=f"agrees with {who} to {_span(abs(off))}")
    way = "fast" if off > timedelta() else "slow"
    said = f"is {_span(abs(off))} {way} by {who}"
    return Finding(WHAT, well=False, said=said, mend=MEND, why=WHY, run=RUN)


def ask_the_time(
    caller: Caller, addresses: Iterable[str], now: Callable[[], datetime]
) -> list[Finding]:
    """Ask one service after the other until one tells the time.

    Parameters
    ----------
    caller
        Asks them.
    addresses
        Of services of which one answered a moment ago.
    now
        This machine's time, aware.

    Returns
    -------
    list of Finding
        One, or none where nobody outside this machine told the time.
    """
    for address in addresses:
        host = urlsplit(address).hostname or ""
        if host in HOME:
            continue  # it has this machine's clock, and so proves nothing
        try:
            headers = caller.get(address, None, host).headers
        except Busy as error:
            headers = error.reply.headers  # too busy to answer, but not to say what time it is
        except Unavailable:
            continue
        theirs = time_of(headers)
        if theirs is not None:
            return [check_clock(now(), theirs, host)]
    return []


def _span(off: timedelta) -> str:
    """Say a span of time."""
    seconds = off.total_seconds()
    for unit, one in (("days", 86400), ("h", 3600), ("min", 60)):
        if seconds >= 2 * one:
            return f"{seconds / one:.0f} {unit}"
    return f"{seconds:.0f} s"
