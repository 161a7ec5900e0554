"""What the page of a field shows, put together from the store."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import Connection, select

from rootbound_rules.risk.track_record import TrackRecord, track_record
from rootbound_rules.tables import cite
from rootbound_service.nights.pictures import SeasonPicture, unpacked_picture
from rootbound_service.nights.row_facts import members_of
from rootbound_service.nights.standing import facts_of
from rootbound_service.notes.advice import actions_of, lookalike_of
from rootbound_service.notes.en.seen_words import what_text
from rootbound_service.notes.speech import say
from rootbound_service.notes.views import FieldView, action_view, field_view, lookalike_line
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.observations import every_observation
from rootbound_service.store.schema import season
from rootbound_service.store.season_pictures import pictures_of
from rootbound_service.web.draw.shapes import Dug, Picture, Seen, Told

if TYPE_CHECKING:
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import (
        FieldRecord,
        NoteRecord,
        ObservationRecord,
        RiskRecord,
        Units,
    )
    from rootbound_service.web.dressing.look import Look

PAST_SEASONS = 3
"""Earlier seasons that are drawn behind this one."""


@dataclass(frozen=True, slots=True, eq=False)
class FieldPage:
    """One field with its season."""

    field: FieldRecord
    facts: FieldFacts | None
    view: FieldView | None
    sources: tuple[tuple[int, str], ...]
    picture: Picture | None
    rows: tuple[RiskRecord, ...]
    notes: tuple[NoteRecord, ...]
    seen: tuple[ObservationRecord, ...]
    """Everything recorded, withdrawn ones among it."""
    record: TrackRecord | None = None
    """What rises to its rung have meant in real seasons."""


def field_page(
    conn: Connection, one: FieldRecord, seen: Look, today: date, stale_days: int, units: Units
) -> FieldPage:
    """Put a field's page together.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    one
        The field.
    seen
        Its nights.
    today
        The day it is there.
    stale_days
        Weather older than this makes it unknown. [d]
    units
        The reader's.
    """
    rows = seen.rows
    notes = tuple(note for note, _ in notes_listed(conn, season_ids=[one.season_id]))
    last = rows[-1] if rows else None
    facts = facts_of(one, last, today=today, stale_days=stale_days, earlier=rows[:-1])
    if facts is not None:
        facts = replace(facts, previous_rung=_rung_before(rows))
    view, sources = _worded(facts, last, one, units)
    kept = _pictures(conn, one, seen.packed)
    return FieldPage(
        field=one,
        facts=facts,
        view=view,
        sources=sources,
        picture=_picture(one, kept, rows, notes, units),
        rows=rows,
        notes=notes,
        seen=tuple(every_observation(conn, one.season_id)),
        record=track_record(last.rung) if last is not None and last.rung is not None else None,
    )


def _worded(
    facts: FieldFacts | None, row: RiskRecord | None, one: FieldRecord, units: Units
) -> tuple[FieldView | None, tuple[tuple[int, str], ...]]:
    """The field in words, with what to do and the sources of that."""
    if facts is None or row is None:
        return None, ()
    # a season that was over before its first night has no stage to advise on
    actions = actions_of(facts, irrigated=one.irrigated) if facts.stage else ()
    alike = lookalike_of(facts)
    told = [one for one in (*actions, alike) if one is not None]
    keys = tuple(dict.fromkeys(key for each in told for key in each.source))
    views = tuple(action_view(action, units, keys) for action in actions)
    view = field_view(facts, units, members_of(row), views)
    if alike is not None:
        view = replace(view, mistaken=lookalike_line(alike, keys))
    return view, tuple((number, cite(key)) for number, key in enumerate(keys, 1))


def _pictures(conn: Connection, one: FieldRecord, packed: bytes | None) -> dict[int, SeasonPicture]:
    """The days of this season and of earlier ones, by year."""
    query = select(season.c.id, season.c.year).where(
        season.c.field_id == one.id, season.c.year < one.planted.year
    )
    query = query.order_by(season.c.year.desc()).limit(PAST_SEASONS)
    years = {row.id: row.year for row in conn.execute(query)}
    found = {years[number]: days for number, days in pictures_of(conn, years).items()}
    if packed is not None:
        found[one.planted.year] = packed
    return {year: unpacked_picture(days) for year, days in found.items()}


def _picture(
    one: FieldRecord,
    kept: dict[int, SeasonPicture],
    rows: tuple[RiskRecord, ...],
    notes: tuple[NoteRecord, ...],
    units: Units,
) -> Picture | None:
    """The season to be drawn; None before the first night."""
    own = kept.get(one.planted.year)
    if own is None:
        return None
    return Picture(
        name=one.name,
        series=own.series,
        stages=own.stages,
        rungs=_steps(rows),
        notes=tuple(Told(note.night, note.to_rung, note.id) for note in notes),
        digs=tuple(Dug(card.dug_on, card.wall_class) for card in one.digs),
        seen=tuple(Seen(it.day, it.kind, what_text(it, units)) for it in one.observations),
        past=tuple((year, old.series) for year, old in kept.items() if year != one.planted.year),
        rated=bool(one.digs),
    )


def _rung_before(rows: tuple[RiskRecord, ...]) -> int | None:
    """The rung before the last change: what the field came from."""
    steps = [rung for _, rung in _steps(rows)]
    return steps[-2] if len(steps) > 1 else None


def _steps(rows: tuple[RiskRecord, ...]) -> tuple[tuple[date, int | None], ...]:
    """Nights on which the rung changed."""
    found: list[tuple[date, int | None]] = []
    for row in rows:
        rung = row.rung if row.status == "watched" else None
        if not found or found[-1][1] != rung:
            found.append((row.night, rung))
    return tuple(found)


def note_words(note: NoteRecord) -> str:
    """Say what a note told, in a line."""
    said = [None if one is None else say.rung_label(one) for one in (note.from_rung, note.to_rung)]
    before, after = said
    if after is None:
        return "no rung any more"
    if before is None:
        return f"told {after} for the first time"
    if before == after:
        return f"news at {after}"
    return f"from {before} to {after}"


def recorded_rows(
    page: FieldPage, units: Units, zone: str
) -> list[tuple[int, date, str, str, str, bool]]:
    """What people recorded: number, day, what, by whom, note, whether it stands; the latest first.

    Parameters
    ----------
    page
        The field.
    units, zone
        The reader's units, the field's time zone.
    """
    from zoneinfo import ZoneInfo

    taken = {one.withdraws: one for one in page.seen if one.withdraws is not None}
    found: list[tuple[int, date, str, str, str, bool]] = []
    for one in page.seen:
        if one.withdraws is not None:
            continue
        gone, note = taken.get(one.id), one.note
        if gone is not None:
            when: datetime = gone.recorded_at.astimezone(ZoneInfo(zone))
            note = f"withdrawn by {gone.by} on {when:%Y-%m-%d}" + (f"; {note}" if note else "")
        found.append((one.id, one.day, what_text(one, units), one.by, note, gone is None))
    return sorted(found, key=lambda it: (it[1], it[0]), reverse=True)
