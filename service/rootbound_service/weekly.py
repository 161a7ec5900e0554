"""The week, told in order: who is still to be written to, compute, compare, write, claim.

A letter, its page and the mark that it was written are stored in one transaction, so that
neither a crash nor a second worker makes two letters of one, or none.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nightly import decide_all
from rootbound_service.nights.dig_list import dig_list
from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import gather, people_of
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.outcomes import outcomes_of
from rootbound_service.notes.digest import compose_digest, compose_page
from rootbound_service.notes.occasion import Occasion
from rootbound_service.notes.week import Outcome, Week
from rootbound_service.secret import links_of
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.digests import keep_page, reserve_digest
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import list_people
from rootbound_service.store.risk import risk_on
from rootbound_service.store.runs import claim_period, claimed_periods
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.unreached import Unreached, unreached
from rootbound_service.telling.digest_day import Reader, week_of
from rootbound_service.telling.quiet import next_open

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided
    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.notes.facts import FieldFacts
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
        open_ = [one for one in asked if not _is_written(conn, one)]
        before = risk_on(conn, night - BACK) if open_ else {}
    if not open_:
        return 0
    told = _tell(parts, night, {one.person.id for one in open_}, before)
    by_person: dict[int, list[Reader]] = defaultdict(list)
    for one in open_:
        by_person[one.person.id].append(one)
    return sum(_write_one(parts, mine, told) for mine in by_person.values())


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


def _is_written(conn: Connection, reader: Reader) -> bool:
    """Tell whether a reader's letter of the week was written."""
    return bool(claimed_periods(conn, JOB, _period(reader)) & {_period(reader)})


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
    seasons = [one.risk.season_id for one in decided]
    try:
        with parts.engine.execution_options(ro=True).connect() as conn:
            notes = [note for note, _ in notes_listed(conn, seasons, since=night - BACK)]
            nights = {note.night for note in notes}
            rows = {one: risk_on(conn, one) for one in nights}
        then = {
            (note.season_id, note.night): row.stress_season
            for note in notes
            if (row := rows[note.night].get(note.season_id)) is not None
        }
        return outcomes_of(decided, notes, then)
    except Exception as error:  # noqa: BLE001  the letter matters more
        _log.error("outcomes_failed", error=in_short(error))
        return ()


def _write_one(parts: Parts, readers: list[Reader], told: _Told) -> int:
    """Write one person's letters and mark the week as written, all or nothing."""
    person, label, now = readers[0].person, readers[0].week, told.occasion.now
    try:
        facts = _facts(person, told)
        if not facts:
            with parts.engine.begin() as conn:
                for one in readers:
                    claim_period(conn, JOB, _period(one), now)
            return 0
        with parts.engine.begin() as conn:
            mine = [one for one in readers if claim_period(conn, JOB, _period(one), now)]
            if not mine:
                return 0
            number = reserve_digest(conn, person.id, label, told.night, now)
            week = _week(parts, conn, person, told, number)
            keep_page(conn, number, compose_page(person, facts, told.occasion, week))
            return enqueue(conn, [_letter(one, facts, told, week) for one in mine])
    except Exception as error:  # noqa: BLE001  one letter never stops the others
        # unclaimed, it is tried again at the next tick
        _log.error("letter_failed", person=person.id, week=label, error=in_short(error))
        return 0


def _facts(person: Person, told: _Told) -> list[FieldFacts]:
    """Facts of a person's fields; none once all were told to be finished."""
    mine = [one for one in told.decided if _is_of(one, person)]
    before = {one.risk.season_id: told.week_ago.get(one.risk.season_id) for one in mine}
    if all(_is_old_news(one, before[one.risk.season_id]) for one in mine):
        return []
    return [
        facts_of(one, then.rung if (then := before[one.risk.season_id]) else None) for one in mine
    ]


def _is_of(one: Decided, person: Person) -> bool:
    """Tell whether a person is told of a field."""
    return person.id in {who.id for who in people_of(one.computed.field)}


def _is_old_news(one: Decided, then: RiskRecord | None) -> bool:
    """Tell whether a field's season was over a week ago already."""
    return one.computed.status == "finished" and then is not None and then.status == "finished"


def _week(parts: Parts, conn: Connection, person: Person, told: _Told, number: int) -> Week:
    """What the person's week was like, beside their fields."""
    links = links_of(parts.settings)
    names = {one.risk.season_id: one.computed.field.name for one in told.decided}
    missed: list[tuple[str, Unreached]] = [
        (names[one.season_id], one)
        for one in unreached(conn, person.id, told.occasion.now - BACK)
        if one.season_id in names
    ]
    week = Week(
        outcomes=told.outcomes,
        unreached=tuple(missed),
        silent=silenced_fields(conn, person.id, told.night),
        page_url=links.url(f"/d/{links.token('digest', number)}") or "",
    )
    return week if told.digs is None else replace(week, digs=told.digs)


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
