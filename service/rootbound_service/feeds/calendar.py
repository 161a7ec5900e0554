"""Dates to go and look as iCalendar, RFC 5545: whole days that keep nobody from anything."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from rootbound_service.feeds.stand import Stand
    from rootbound_service.records import RiskRecord

PRODUCT = "-//Rootbound//Fields to look at//EN"
MIME = "text/calendar; method=PUBLISH"
MIND = (
    "Have buried lines located before digging (in the US call 811), mind the heat, do not go "
    "alone, keep re-entry intervals. Dates follow the weather and move."
)


@dataclass(frozen=True, slots=True)
class Visit:
    """A span of days on which a look at a field says most."""

    kind: str
    title: str
    first: date
    last: date
    """Included."""


def calendar_of(stands: Sequence[Stand], domain: str) -> bytes:
    """Write the calendar.

    Parameters
    ----------
    stands
        The fields.
    domain
        Of the service: names of dates end with it.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Rootbound: fields to look at")
    for stand in stands:
        if stand.now is None:
            continue
        told = stand.nights[-1].told_at
        for visit in visits_of(stand):
            calendar.add_component(_event(stand, visit, told, domain))
    written: bytes = calendar.to_ical()
    return written


def visits_of(stand: Stand) -> Iterator[Visit]:
    """Give the days on which a look at a field says most.

    Parameters
    ----------
    stand
        The field.

    Yields
    ------
    Visit
        Nothing that is over, and nothing for a finished season.
    """
    row, field = stand.now, stand.field
    if row is None or row.status in {"finished", "unknown"}:
        return
    days = _days(row)
    wall = any(dig.wall_class > 0 or dig.pan_class > 0 for dig in field.digs)
    if not field.digs and "V2" in days and "V5" in days:
        yield Visit("dig", f"Dig young roots: {field.name}", days["V2"], days["V5"])
    if wall and len(field.digs) == 1 and "V6" in days and "V8" in days:
        yield Visit("dig-again", f"Dig again: {field.name}", days["V6"], days["V8"])
    if "silk" in days:
        first = days["silk"] - timedelta(days=3)
        last = days["silk"] + timedelta(days=3)
        yield Visit("silk", f"Silking, walk it at sunrise: {field.name}", first, last)
    if "stress" in days:
        first = days["stress"] - timedelta(days=2)
        yield Visit("stress", f"Stress may set in: {field.name}", first, days["stress"])


def _days(row: RiskRecord) -> dict[str, date]:
    """Days of stages to come, and when stress may set in, as the night kept them."""
    kept = row.detail.get("ahead")
    if not isinstance(kept, Mapping):
        return {}
    told = cast("Mapping[str, Any]", kept)
    found = {name: date.fromisoformat(day) for name, day in (told.get("days") or {}).items()}
    short = told.get("short")
    if short:
        found["stress"] = date.fromisoformat(short["middle"])
    return {name: day for name, day in found.items() if day >= row.night or name in {"V2", "V6"}}


def _event(stand: Stand, visit: Visit, told: datetime, domain: str) -> Any:
    """One date; its number grows with every night, so that programs take the newer one."""
    import icalendar

    event = icalendar.Event()
    event.add("uid", f"{visit.kind}-{stand.field.season_id}@{domain}")
    event.add("dtstamp", told.replace(microsecond=0))
    event.add("sequence", told.toordinal())
    event.add("dtstart", visit.first)
    event.add("dtend", visit.last + timedelta(days=1))  # RFC 5545 3.6.1: the end is not included
    event.add("summary", visit.title)
    event.add("description", MIND)
    event.add("geo", (stand.field.lat, stand.field.lon))
    event.add("transp", "TRANSPARENT")
    return event
