"""What last week's warnings came to: by the weather that came since, not the one foreseen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes.week import Outcome
from rootbound_service.store.notes import notes_listed
from rootbound_service.store.risk import risk_on

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import NoteRecord, RiskRecord


def outcomes_since(
    conn: Connection, decided: Sequence[Decided], since: date
) -> tuple[Outcome, ...]:
    """Hold the warnings of a while against what has happened since.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    decided
        The fields as they stand now.
    since
        First night whose warnings count.
    """
    seasons = [one.risk.season_id for one in decided]
    notes = [note for note, _ in notes_listed(conn, seasons, since=since)]
    rows = {night: risk_on(conn, night) for night in {note.night for note in notes}}
    then = {
        (season, night): row
        for night, by_season in rows.items()
        for season, row in by_season.items()
    }
    return outcomes_of(decided, notes, then)


def outcomes_of(
    decided: Iterable[Decided],
    notes: Iterable[NoteRecord],
    then: Mapping[tuple[int, date], RiskRecord],
) -> tuple[Outcome, ...]:
    """Hold each warning against what has happened since.

    Parameters
    ----------
    decided
        The fields as they stand now.
    notes
        Of the past week; only rises are warnings, none later than the fields' night.
    then
        What a night found, by season id and night.

    Returns
    -------
    tuple of Outcome
        The first warning of each field, the highest rung first.
    """
    stands = {one.risk.season_id: one for one in decided}
    found: dict[int, Outcome] = {}
    for note in sorted(notes, key=lambda one: one.night):
        one = stands.get(note.season_id)
        if one is None or note.season_id in found or not _is_warning(note):
            continue
        if note.night > one.risk.night:  # a week of the past, told once more
            continue
        found[note.season_id] = _outcome(one, note, then.get((note.season_id, note.night)))
    return tuple(sorted(found.values(), key=lambda one: (-one.rung, one.night, one.field_id)))


def _is_warning(note: NoteRecord) -> bool:
    """Tell whether a note told of a rise."""
    return note.to_rung is not None and note.to_rung > (note.from_rung or 0)


def _outcome(one: Decided, note: NoteRecord, row: RiskRecord | None) -> Outcome:
    """Hold one warning against the field as it stands now."""
    rain = _rain(one, note.night)
    return Outcome(
        field_id=one.computed.field.id,
        night=note.night,
        rung=note.to_rung or 0,
        rung_now=one.risk.rung,
        # no real day since: nothing has come, and nothing has failed to come
        stress=_since(one.risk.stress_season, row.stress_season)
        if row and rain is not None
        else None,
        rain_mm=rain,
        dug=row is None or row.status != "unrated",
        over=one.risk.status == "finished",
    )


def _since(now: float | None, then: float | None) -> float | None:
    """Stress since; a season computed anew may come out a little lower than it did."""
    return None if now is None or then is None else max(now - then, 0.0)


def _rain(one: Decided, night: date) -> float | None:
    """Rain from the night of the warning to the last real day; None before one. [mm]"""
    outlook = one.computed.outlook
    if outlook is None or outlook.known_through < night:
        return None
    first, last = outlook.day(night), outlook.day(outlook.known_through)
    return float(np.sum(outlook.rain_mm[first : last + 1, 0]))
