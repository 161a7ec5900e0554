"""Dates to go and look as iCalendar, RFC 5545: whole days that keep nobody from anything."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any, Literal, cast

from rootbound_rules.risk.dig_window import WITH_A_WINDOW
from rootbound_service.feeds.clean import clean
from rootbound_service.notes.speech import say, speaking

if TYPE_CHECKING:
    from rootbound_service.feeds.issuer import Issuer
    from rootbound_service.feeds.stand import Stand
    from rootbound_service.records import FieldRecord, RiskRecord

PRODUCT = "-//Rootbound//Fields to look at//EN"
MIME = "text/calendar"
DAY = timedelta(days=1)
ABOUT_SILK = 3 * DAY
"""Half of the outlook's members silk within some days of the middle one. Our choice."""
BEFORE_STRESS = 2 * DAY
"""Leaves roll a little before stress sets in. Our choice."""
SOON = timedelta(days=14)
"""Stress farther off stands in the digest, with its range: no date in a calendar yet."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A span of days on which a look at a field says most."""

    kind: Literal["dig", "dig-again", "silk", "stress"]
    first: date
    last: date
    """Included."""


def calendar_of(stands: Sequence[Stand], issuer: Issuer) -> bytes:
    """Write the calendar.

    Parameters
    ----------
    stands
        The fields.
    issuer
        Of the feed: names of dates end with its domain.
    """
    import icalendar

    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    domain = issuer.sender.rpartition("@")[2]
    with speaking(issuer.language):
        calendar.add("x-wr-calname", say.FEED_TITLE)
        events = [
            _event(stand, visit, stand.nights[-1].told_at, domain)
            for stand in stands
            if stand.nights
            for visit in visits_of(stand)
        ]
    for one in events or [_no_dates()]:
        calendar.add_component(one)
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
    row = stand.now
    if row is None or row.status in {"finished", "unknown"}:
        return
    night = stand.nights[-1].night
    for visit in (*_digs(stand.field, row), *_looks(row, night)):
        if visit.last >= night:
            yield visit


def _digs(field: FieldRecord, row: RiskRecord) -> Iterator[Visit]:
    """From V2 until the sixth collar shows a first dig, then up to V8 a second one.

    A second one is for held roots whose newest dig is from before V6.
    """
    days = _days(row)
    if field.crop not in WITH_A_WINDOW:
        return
    if not field.digs:
        if "V2" in days and "V6" in days:
            yield Visit("dig", days["V2"], days["V6"] - DAY)
        return
    newest = field.digs[-1]
    held = newest.wall_class > 0 or newest.pan_class > 0
    if held and "V6" in days and "V8" in days and newest.dug_on < days["V6"]:
        yield Visit("dig-again", days["V6"], days["V8"])


def _looks(row: RiskRecord, night: date) -> Iterator[Visit]:
    """About silking, and where a field has begun to draw down, before stress sets in."""
    days, onset = _days(row), _onset(row)
    if "silk" in days:
        yield Visit("silk", days["silk"] - ABOUT_SILK, days["silk"] + ABOUT_SILK)
    if row.status == "watched" and row.rung and onset and night <= onset <= night + SOON:
        yield Visit("stress", onset - BEFORE_STRESS, onset)


def _ahead(row: RiskRecord) -> Mapping[str, Any]:
    """What the night kept of the days to come."""
    kept = row.detail.get("ahead")
    return cast("Mapping[str, Any]", kept) if isinstance(kept, Mapping) else {}


def _days(row: RiskRecord) -> dict[str, date]:
    """Days on which half of the outlook comes to the stages that people go and look at."""
    kept = cast("Mapping[str, str]", _ahead(row).get("days") or {})
    return {stage: date.fromisoformat(day) for stage, day in kept.items()}


def _onset(row: RiskRecord) -> date | None:
    """The day on which stress sets in by half of the outlook."""
    short = _ahead(row).get("short")
    return date.fromisoformat(short["middle"]) if short else None


def _event(stand: Stand, visit: Visit, told: datetime, domain: str) -> Any:
    """One date; its number grows with every run, so that programs take the newer one."""
    import icalendar

    event = icalendar.Event()
    event.add("uid", f"{visit.kind}-{stand.field.season_id}@{domain}")
    event.add("dtstamp", told.replace(microsecond=0))
    event.add("sequence", int(told.timestamp()) // 60)
    event.add("dtstart", visit.first)
    event.add("dtend", visit.last + DAY)  # RFC 5545 3.6.1: the end is not included
    event.add("summary", say.visit_title(visit.kind, clean(stand.field.name), stand.field.crop))
    event.add("description", say.visit_text(visit.kind))
    event.add("geo", (stand.field.lat, stand.field.lon))
    event.add("transp", "TRANSPARENT")
    return event


def _no_dates() -> Any:
    """A time zone alone: a calendar without any component is none (RFC 5545 3.6)."""
    import icalendar

    zone, standard = icalendar.Timezone(), icalendar.TimezoneStandard()
    zone.add("tzid", "UTC")
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  (local time, RFC 5545 3.6.5)
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone.add_component(standard)
    return zone
