"""Somebody else hears when the worst is not answered: the second contact, after 48 hours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import structlog
from sqlalchemy import select

from rootbound_service.nights.operator import in_short
from rootbound_service.store.acknowledgements import acknowledged_since
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import list_people
from rootbound_service.store.schema import (
    contact,
    field_person,
    note,
    outbox,
    outbox_note,
    risk,
    season,
)
from rootbound_service.store.silences import silenced_since
from rootbound_service.telling.book import load_book
from rootbound_service.telling.quiet import next_open
from rootbound_service.telling.recipients import left_out
from rootbound_service.worker.ticks import night_now

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import OutboxMessage, Person
    from rootbound_service.wiring import Service

WORST = 4
UNANSWERED, OLD = timedelta(hours=48), timedelta(days=7)
"""After so long the second contact hears of it; after so long it is told by newer nights."""
_log = structlog.get_logger(__name__)


@dataclass(frozen=True, slots=True)
class Unanswered:
    """A field on the worst rung whose people have not answered."""

    note_id: int
    season_id: int
    field_id: int
    second_id: int
    sent_at: datetime


def second_tick(service: Service) -> int:
    """Write to the second contacts of fields on the worst rung that nobody has answered for.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        Messages that are new.
    """
    now = service.clock.now()
    with service.engine.execution_options(ro=True).connect() as conn:
        due = [one for one in _due(conn, now) if _is_open(conn, one)]
        due = _heard_by_somebody(conn, due, now) if due else []
    return _tell(service, due, now) if due else 0


def _due(conn: Connection, now: datetime) -> list[Unanswered]:
    """Notes on the worst rung that were sent 48 hours ago and not seen by anybody since."""
    query = (
        select(note.c.id, note.c.season_id, season.c.field_id, field_person.c.person_id)
        .add_columns(outbox.c.sent_at)
        .join(outbox_note, outbox_note.c.note_id == note.c.id)
        .join(outbox, outbox.c.id == outbox_note.c.outbox_id)
        .join(season, season.c.id == note.c.season_id)
        .join(field_person, field_person.c.field_id == season.c.field_id)
        .where(field_person.c.part == "second", note.c.to_rung == WORST)
        .where(outbox.c.sent_at <= now - UNANSWERED, outbox.c.sent_at > now - OLD)
        .where(outbox.c.thread_key.not_like("second-%"))
        .order_by(outbox.c.sent_at)
    )
    first: dict[int, Unanswered] = {}
    for row in conn.execute(query):
        first.setdefault(row.id, Unanswered(*row))
    return list(first.values())


def _is_open(conn: Connection, one: Unanswered) -> bool:
    """Whether nobody has answered, the second contact was not told, and it is as bad still."""
    if acknowledged_since(conn, one.season_id, one.sent_at):
        return False
    if silenced_since(conn, one.field_id, one.sent_at):
        return False
    mine = outbox.c.dedupe_key.startswith(_key(one), autoescape=True)
    if conn.scalar(select(outbox.c.id).where(mine).limit(1)) is not None:
        return False
    # the last night's own word: what has eased need not be computed every half hour
    last = select(risk.c.rung).where(risk.c.season_id == one.season_id)
    return conn.scalar(last.order_by(risk.c.night.desc()).limit(1)) == WORST


def _heard_by_somebody(conn: Connection, due: list[Unanswered], now: datetime) -> list[Unanswered]:
    """Those whose second contact has a way that hears of it."""
    book = load_book(conn, night_now(now), now)
    return [
        one
        for one in due
        if any(
            left_out(book, way, one.field_id, WORST, WORST) is None
            for way in book.contacts.get(one.second_id, ())
        )
    ]


def _key(one: Unanswered) -> str:
    return f"second-{one.note_id}-"


def _tell(service: Service, due: list[Unanswered], now: datetime) -> int:
    """Compute the fields as they stand tonight, and write where they are still so bad."""
    from rootbound_service.nightly import decide_all
    from rootbound_service.nights.gather import gather

    night = night_now(now)
    with service.engine.execution_options(ro=True).connect() as conn:
        people = {one.id: one for one in list_people(conn)}
        growers = _growers(conn, {one.season_id for one in due})
    gathered = gather(service.parts, night, pull=False, whose=growers)
    decided = decide_all(gathered, service.settings.weather_stale_days)
    stands = {one.risk.season_id: one for one in decided}
    written = 0
    for one in due:
        here = stands.get(one.season_id)
        if here is None or here.risk.rung != WORST:
            continue
        try:
            with service.engine.begin() as conn:
                written += enqueue(conn, _messages(service, conn, one, here, people, now))
        except Exception as error:  # noqa: BLE001  one letter never stops the others
            _log.error("second_failed", note=one.note_id, error=in_short(error))
    return written


def _growers(conn: Connection, seasons: set[int]) -> set[int]:
    """Growers of seasons: the fields to compute are theirs."""
    from rootbound_service.store.schema import field

    query = select(field.c.grower_id).join(season, season.c.field_id == field.c.id)
    return set(conn.scalars(query.where(season.c.id.in_(seasons))))


def _messages(
    service: Service,
    conn: Connection,
    one: Unanswered,
    here: Decided,
    people: dict[int, Person],
    now: datetime,
) -> list[OutboxMessage]:
    """One message for each way the second contact hears notes."""
    from rootbound_service.nights.facts_of import facts_of
    from rootbound_service.nights.letters import message_to
    from rootbound_service.notes.compose import FieldNote
    from rootbound_service.notes.occasion import Occasion
    from rootbound_service.notes.speech import say, speaking

    person = people[one.second_id]
    assessment, own = here.computed.assessment, here.computed.field
    key = conn.scalars(select(note.c.dedupe_key).where(note.c.id == one.note_id)).one()
    told = FieldNote(facts_of(here, here.risk.rung), key, one.season_id, own.irrigated)
    occasion = Occasion(
        next_open(now, person.time_zone),
        assessment.members if assessment else 0,
        linked=service.settings.base_url is not None,
    )
    book = load_book(conn, here.risk.night, now)
    found: list[OutboxMessage] = []
    for way in contacts_of(conn, contact.c.person_id == person.id):
        for message in message_to(person, way, [told], occasion, book):
            with speaking(person.language):
                subject, text = say.second_words(message.subject, message.text, own.grower.name)
            found.append(
                replace(
                    message,
                    dedupe_key=f"{_key(one)}{way.id}",
                    thread_key=f"second-{one.season_id}-{person.id}",
                    subject=subject if message.channel == "email" else "",
                    text=text if message.channel == "email" else message.text,
                    html=say.second_page(message.html, own.grower.name),
                    created_at=now,
                    priority=1,
                )
            )
    return found
