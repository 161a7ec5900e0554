"""Record a night of very many fields: every part's rows and notes in one transaction.

The letters are worded by the workers meanwhile, which need no database.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from itertools import islice
from typing import TYPE_CHECKING

from rootbound_service.nights.keeping import keep_pasts
from rootbound_service.nights.letters import put_off
from rootbound_service.nights.many.columns import from_columns, from_text
from rootbound_service.nights.many.letters import word_many
from rootbound_service.nights.many.pasts import empty_kept, waiting
from rootbound_service.nights.many.troubles import MOST, Tally
from rootbound_service.nights.many.whole import from_bytes
from rootbound_service.nights.operator import night_message
from rootbound_service.nights.parts import NightReport
from rootbound_service.nights.record import begin
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.risk import save_notes, save_risk
from rootbound_service.store.runs import ANY, Seen, finish_run, weather_words
from rootbound_service.store.season_pictures import put_pictures
from rootbound_service.store.taken_back import take_back
from rootbound_service.sweep.run import parts_of
from rootbound_service.telling.book import load_book

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.nights.letters import Heard, Letters
    from rootbound_service.nights.many.job import NightJob
    from rootbound_service.nights.many.run import Asked
    from rootbound_service.nights.many.slices import Due
    from rootbound_service.records import OutboxMessage
    from rootbound_service.sweep.executors import Executor
    from rootbound_service.telling.book import Book
    from rootbound_service.wiring import Parts


class _Told:
    """What there is to tell of a night, without its rows."""

    def __init__(self) -> None:
        self.tally = Tally()
        self.troubles: dict[str, str] = {}
        self.heard: list[Heard] = []
        self.failures: list[str] = []
        self.notes = 0
        self.unanswered: set[int] = set()


def record_many(
    parts: Parts, job: NightJob, due: Due, asked: Asked, executor: Executor, seen: Seen = ANY
) -> NightReport:
    """Store a night as a whole or not at all.

    Parameters
    ----------
    parts
        The wired service.
    job
        Swept.
    due
        The fields.
    asked
        What asking for weather came to.
    executor
        Who words and draws the letters.
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
    now, night, settings = parts.clock.now(), job.rules.night, parts.settings
    told = _read(job, due, asked)
    with parts.engine.execution_options(ro=True).connect() as conn:
        book = load_book(conn, night, now)
    linked = settings.base_url is not None
    given = (told.heard, told.unanswered, now, book)
    with ThreadPoolExecutor(1) as beside, parts.engine.begin() as conn:
        begin(conn, night, now, seen)
        worded = beside.submit(word_many, executor, job.folder, *given, linked=linked)
        _store(conn, job, now)
        letters = worded.result()
        wrong = (sentence for piece in letters() for sentence in piece.failures)
        failures = (*told.tally.sentences(told.troubles), *told.failures, *islice(wrong, MOST))
        own: list[OutboxMessage] = []
        if failures or asked.mended:
            said = (*failures, *asked.told)
            own = night_message(night, told.tally.silent, said, settings.operator_email, now)
        new = _send(conn, letters, book, own)
        fine = told.tally.fields - told.tally.silent
        finish_run(conn, night, now, fine, told.tally.silent, _weather(told, asked))
    empty_kept(job.folder)
    return NightReport(night, fine, told.tally.silent, told.notes, new, failures, asked.told)


def _weather(told: _Told, asked: Asked) -> str:
    """What the run's record says of the weather."""
    missed = bool(told.troubles) or asked.missed
    return weather_words(sorted(told.troubles.values())[:20], asked.told, missed=missed)


def _read(job: NightJob, due: Due, asked: Asked) -> _Told:
    """Go through the parts once for everything but the rows."""
    told = _Told()
    told.troubles = dict(asked.troubles)
    for number, part in enumerate(parts_of(job, job.folder)):
        whole = from_bytes(part)
        silences = from_text(part["silent"])
        keys = {one: place.key if place else "" for one, place in due.in_chunk(number)}
        told.tally.add(silences, keys)
        told.tally.fields += len(part["row_season_id"]) + len(whole.rows)
        told.troubles |= from_text(part["troubles"])
        told.heard += whole.heard
        told.failures += whole.failures
        told.notes += len(whole.notes)
        unknown = part["row_status"] == "unknown"
        told.unanswered.update(part["row_season_id"][unknown].tolist())
        told.unanswered |= {row.season_id for row in whole.rows if row.status == "unknown"}
    return told


def _store(conn: Connection, job: NightJob, now: datetime) -> None:
    """Rows, pictures, notes and the past years behind them, part by part."""
    for part in parts_of(job, job.folder):
        whole = from_bytes(part)
        save_risk(conn, [*from_columns(part), *whole.rows])
        put_pictures(conn, job.rules.night, whole.pictures)
        save_notes(conn, whole.notes)
        keep_pasts(conn, waiting(job.folder, whole.pasts), now)


def _send(
    conn: Connection,
    letters: Callable[[], Iterator[Letters]],
    book: Book,
    own: list[OutboxMessage],
) -> int:
    """Put the messages in the outbox, a piece at a time."""
    new = enqueue(conn, own)
    for piece in letters():
        gone = take_back(conn, piece.anew)
        new += enqueue(conn, put_off(piece, book, gone))
    return new
