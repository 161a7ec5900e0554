"""The week, told in order: who is still to be written to, compute, compare, write, claim.

A letter, its page and the mark that it was written are stored in one transaction, so that
neither a crash nor a second worker makes two letters of one, or none. Nothing is locked while
they are composed.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nightly import decide_all
from rootbound_service.nights.dig_list import dig_list
from rootbound_service.nights.gather import gather
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.outcomes import outcomes_since
from rootbound_service.nights.readers_week import fields_of, week_for
from rootbound_service.notes.dig_lists import DigList
from rootbound_service.notes.digest import compose_digest
from rootbound_service.notes.digest_page import compose_page
from rootbound_service.notes.occasion import Occasion
from rootbound_service.secret import links_of
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.digests import keep_page, reserve_digest
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import list_people
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import claim_period, claimed_periods
from rootbound_service.telling.digest_day import Reader, week_of
from rootbound_service.telling.quiet import next_open

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.notes.week import Outcome, Week
    from rootbound_service.records import Contact, OutboxMessage, Person, RiskRecord
    from rootbound_service.wiring import Parts

JOB = "digest"
BACK = timedelta(days=7)
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """What the letters of one night are written from."""

    night: date
    decided: list[Decided]
    week_ago: dict[int, RiskRecord]
    digs: DigList | None
    outcomes: tuple[Outcome, ...]
    occasion: Occasion


def write_digests(
    parts: Parts, night: date, readers: list[Reader] | None = None, week: str | None = None
) -> int:
    """Put the weekly letters of a night in the outbox.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night they tell of.
    readers
        Who gets one; None for everybody who wants one and has a field.
    week
        The week that names them, as ``2026-W29``, where ``readers`` are not named.

    Returns
    -------
    int
        Letters that are new: one of the same week and contact is not written twice.
    """
    with parts.engine.execution_options(ro=True).connect() as conn:
        asked = _everybody(conn, week or week_of(night)) if readers is None else readers
        written = _written(conn, {one.week for one in asked})
        open_ = [one for one in asked if _period(one) not in written]
        before = risk_on(conn, night - BACK) if open_ else {}
    if not open_:
        return 0
    told = _tell(parts, night, {one.person.id for one in open_}, before)
    # two ways of one person may be due in different weeks: yesterday's Sunday, today's Monday
    alike: dict[tuple[int, str], list[Reader]] = defaultdict(list)
    for one in open_:
        alike[one.person.id, one.week].append(one)
    return sum(_write_one(parts, mine, told) for mine in alike.values())


def night_of_week(week: str | None, today: date) -> date:
    """The night a week's letter tells of: today in this week, else the week's Sunday.

    Parameters
    ----------
    week
        As ``2026-W29``; None for this week.
    today
        The day it is.
    """
    if week is None:
        return today
    year, number = int(week[:4]), int(week[6:])
    return min(date.fromisocalendar(year, number, 7), today)


def _everybody(conn: Connection, week: str) -> list[Reader]:
    """Everybody who wants a letter, whatever their day."""
    people = {one.id: one for one in list_people(conn)}
    wanted = (one for one in contacts_of(conn) if one.digest_day is not None)
    return [Reader(people[one.person_id], one, week) for one in wanted if one.channel == "email"]


def _written(conn: Connection, weeks: set[str]) -> set[str]:
    """Tell which letters of some weeks were written."""
    return {one for week in weeks for one in claimed_periods(conn, JOB, f" {week}")}


def _period(reader: Reader) -> str:
    """Name of one reader's week."""
    return f"contact {reader.contact.id} {reader.week}"


def _tell(parts: Parts, night: date, people: set[int], before: dict[int, RiskRecord]) -> _Told:
    """Compute the fields of all readers, and what the week came to."""
    gathered = gather(parts, night, pull=False, whose=people)
    decided = decide_all(gathered, parts.settings.weather_stale_days)
    counts = [one.computed.assessment.members for one in decided if one.computed.assessment]
    linked = parts.settings.base_url is not None
    occasion = Occasion(parts.clock.now(), members=max(counts, default=0), linked=linked)
    digs, outcomes = _digs(decided, night), _outcomes(parts, decided, night)
    return _Told(night, decided, before, digs, outcomes, occasion)


def _digs(decided: list[Decided], night: date) -> DigList | None:
    """Order of the fields to dig; a letter goes without one rather than not at all."""
    try:
        return dig_list((one.computed for one in decided), night)
    except Exception as error:  # noqa: BLE001  the letter matters more than the order
        _log.error("dig_list_failed", error=in_short(error))
        return None


def _outcomes(parts: Parts, decided: list[Decided], night: date) -> tuple[Outcome, ...]:
    """What last week's warnings came to; a letter goes without rather than not at all."""
    try:
        with parts.engine.execution_options(ro=True).connect() as conn:
            return outcomes_since(conn, decided, night - BACK)
    except Exception as error:  # noqa: BLE001  the letter matters more
        _log.error("outcomes_failed", error=in_short(error))
        return ()


def _write_one(parts: Parts, readers: list[Reader], told: _Told) -> int:
    """Write one person's letters and mark the week as written, all or nothing."""
    person, week = readers[0].person, readers[0].week
    try:
        facts = fields_of(person, told.decided, told.week_ago)
        if facts:
            return _put_away(parts, readers, told, facts)
        with parts.engine.begin() as conn:
            for one in readers:
                claim_period(conn, JOB, _period(one), told.occasion.now)
    except Exception as error:  # noqa: BLE001  one letter never stops the others
        # unclaimed, it is tried again at the next tick
        _log.error("letter_failed", person=person.id, week=week, error=in_short(error))
    return 0


def _put_away(parts: Parts, readers: list[Reader], told: _Told, facts: list[FieldFacts]) -> int:
    """Compose with nothing locked, hundreds of pictures take seconds; then store all of it."""
    person, now = readers[0].person, told.occasion.now
    with parts.engine.begin() as conn:
        number = reserve_digest(conn, person.id, readers[0].week, told.night, now)
    week = _week(parts, person, told, number)
    page = compose_page(person, facts, told.occasion, week)
    letters = [(one, _letter(one, facts, told, week)) for one in readers]
    with parts.engine.begin() as conn:
        mine = [letter for one, letter in letters if claim_period(conn, JOB, _period(one), now)]
        if mine:
            keep_page(conn, number, page)
        return enqueue(conn, mine) if mine else 0


def _week(parts: Parts, person: Person, told: _Told, number: int) -> Week:
    """What the person's week was like, beside their fields, and where its page is."""
    links, since = links_of(parts.settings), told.occasion.now - BACK
    with parts.engine.execution_options(ro=True).connect() as conn:
        week = week_for(conn, person, told.decided, since, told.night)
    url = links.url(f"/d/{links.token('digest', number)}") or ""
    return replace(week, digs=told.digs or DigList(), outcomes=told.outcomes, page_url=url)


def _letter(reader: Reader, facts: list[FieldFacts], told: _Told, week: Week) -> OutboxMessage:
    """The letter of one reader, named by their own week.

    Where Monday comes before the night of Monday, the letter tells of Sunday's night, which
    lies in the week before.
    """
    contact: Contact = reader.contact
    due = next_open(told.occasion.now, reader.person.time_zone)
    then = replace(told.occasion, available_at=due)
    letter = compose_digest(reader.person, facts, then, week, contact)
    return replace(letter, dedupe_key=f"{JOB}-{reader.person.id}-{contact.id}-{reader.week}")
