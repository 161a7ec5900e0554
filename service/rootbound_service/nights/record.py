"""Record: risk, notes and messages of a night in one transaction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.nights.keeping import keep_past
from rootbound_service.nights.letters import put_off, write_letters
from rootbound_service.nights.operator import night_message
from rootbound_service.nights.parts import NightReport
from rootbound_service.nights.troubles import troubles_of
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes, save_risk
from rootbound_service.store.runs import ANY, Seen, finish_run, start_run, weather_words
from rootbound_service.store.season_pictures import put_pictures
from rootbound_service.store.taken_back import take_back
from rootbound_service.sweep.run import Cancelled
from rootbound_service.telling.book import load_book

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided, Gathered
    from rootbound_service.records import OutboxMessage
    from rootbound_service.wiring import Parts


def record(
    parts: Parts, gathered: Gathered, decided: list[Decided], seen: Seen = ANY
) -> NightReport:
    """Store a night as a whole or not at all.

    Parameters
    ----------
    parts
        The wired service.
    gathered, decided
        What the night started from and what it decided.
    seen
        When the night had been finished last as it started.

    Returns
    -------
    NightReport
        Counts, and what went wrong in sentences.

    Raises
    ------
    Cancelled
        If somebody has recorded the night since it started: that one knows more.
    """
    now, night = parts.clock.now(), gathered.night
    with parts.engine.execution_options(ro=True).connect() as conn:
        book = load_book(conn, night, now)
    linked = parts.settings.base_url is not None
    letters = write_letters(decided, now, book, linked=linked)
    failures = (*troubles_of(gathered, decided), *letters.failures)
    silent = sum(one.computed.status == "unknown" for one in decided)
    own: list[OutboxMessage] = []
    if failures or gathered.mended:
        told, address = (*failures, *gathered.told), parts.settings.operator_email
        own = night_message(night, silent, told, address, now)
    notes = [one.note for one in decided if one.note is not None]
    pictures = {one.risk.season_id: one.picture for one in decided if one.picture}
    missed = bool(gathered.troubles) or gathered.missed
    weather = weather_words(sorted(gathered.troubles.values()), gathered.told, missed=missed)
    fine = len(decided) - silent
    with parts.engine.begin() as conn:
        begin(conn, night, now, seen)
        save_risk(conn, [one.risk for one in decided])
        put_pictures(conn, night, pictures)
        save_notes(conn, notes)
        keep_past(conn, decided, now)
        gone = take_back(conn, letters.anew)
        new = enqueue(conn, [*put_off(letters, book, gone), *own])
        finish_run(conn, night, now, fine, silent, weather)
    return NightReport(night, fine, silent, len(notes), new, failures, gathered.told)


def begin(conn: Connection, night: date, now: datetime, seen: Seen) -> None:
    """Begin to record a night, unless somebody else did while it was computed.

    Parameters
    ----------
    conn
        The transaction that records it.
    night
        The night.
    now
        The time.
    seen
        When the night had been finished last as it started.

    Raises
    ------
    Cancelled
        If it has been finished since: a worker that lost its lead in its sleep comes too late.
    """
    if not start_run(conn, night, now, seen):
        raise Cancelled(f"the night of {night} was recorded by somebody else meanwhile")
