"""What last week's warnings came to: the weather that came since, not the one foreseen."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.notes.week import Outcome

if TYPE_CHECKING:
    from rootbound_service.nights.parts import Decided
    from rootbound_service.records import NoteRecord


def outcomes_of(
    decided: Iterable[Decided],
    notes: Iterable[NoteRecord],
    then: Mapping[tuple[int, date], float | None],
) -> tuple[Outcome, ...]:
    """Hold each warning against what has happened since.

    Parameters
    ----------
    decided
        The fields as they stand now.
    notes
        Of the past week; only rises are warnings.
    then
        Stress-day equivalents of the season, by season id and night of its notes. [d]

    Returns
    -------
    tuple of Outcome
        The first warning of each field, the highest rung first.
    """
    stands = {one.risk.season_id: one for one in decided}
    found: dict[int, Outcome] = {}
    for note in sorted(notes, key=lambda one: one.night):
        one = stands.get(note.season_id)
        rise = note.to_rung is not None and note.to_rung > (note.from_rung or 0)
        if one is None or not rise or note.to_rung is None or note.season_id in found:
            continue
        found[note.season_id] = Outcome(
            field_id=one.computed.field.id,
            night=note.night,
            rung=note.to_rung,
            rung_now=one.risk.rung,
            stress=_since(one.risk.stress_season, then.get((note.season_id, note.night))),
            rain_mm=_rain(one, note),
        )
    return tuple(sorted(found.values(), key=lambda one: (-one.rung, one.night, one.field_id)))


def _since(now: float | None, then: float | None) -> float | None:
    """Stress since; a season computed anew may come out a little lower than it did."""
    return None if now is None or then is None else max(now - then, 0.0)


def _rain(one: Decided, note: NoteRecord) -> float | None:
    """Rain from the night of the warning to the last real day. [mm]"""
    outlook = one.computed.outlook
    if outlook is None or outlook.known_through < note.night:
        return None
    first, last = outlook.day(note.night), outlook.day(outlook.known_through)
    return float(np.sum(outlook.rain_mm[first : last + 1, 0]))
