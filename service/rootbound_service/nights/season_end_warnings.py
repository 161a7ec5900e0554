"""Warnings of a season: where each began, until when it stood, what it came to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_service.nights.season_end_days import between, known_sum
from rootbound_service.nights.season_end_shapes import Lead, WarningPast

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from rootbound_service.nights.season_end_shapes import Came
    from rootbound_service.records import NoteRecord

WINDOW_DAYS = 21
"""So many nights a warning has to come true; our choice."""
RAIN_MM = 10.0
"""Rain or watering that holds a warning off; our choice. [mm]"""
TIGHT, SHORT = 2, 3


@dataclass(frozen=True, slots=True)
class Told:
    """One stretch in which people stood warned."""

    night: date
    last: date
    rung: int
    rises: tuple[date, ...]
    over: date | None
    """Night on which it was taken back; None: never."""


def stretches(notes: Iterable[NoteRecord], level: int) -> tuple[Told, ...]:
    """Find the stretches in which people stood warned, in order.

    Parameters
    ----------
    notes
        Of one season; those without a rung neither begin a stretch nor end one.
    level
        The least rung that is a warning. [0-4]
    """
    found: list[Told] = []
    rises: list[date] = []
    highest = 0
    for note in sorted(notes, key=lambda one: (one.night, one.id)):
        if note.to_rung is None:
            continue
        if note.to_rung < level:
            if rises:
                found.append(Told(rises[0], rises[-1], highest, tuple(rises), note.night))
            rises, highest = [], 0
        else:
            if not rises or note.to_rung > (note.from_rung or 0):
                rises.append(note.night)
            highest = max(highest, note.to_rung)
    if rises:
        found.append(Told(rises[0], rises[-1], highest, tuple(rises), None))
    return tuple(found)


def lead_of(notes: Iterable[NoteRecord], level: int, stress: date) -> Lead:
    """Give the time from the warning that stood to the first day of real stress.

    Parameters
    ----------
    notes
        Of one season.
    level
        The least rung that counts. [0-4]
    stress
        First day of real stress.

    Returns
    -------
    Lead
        A warning taken back before that day led to nothing: the next one counts.
    """
    told = stretches(notes, level)
    standing = [
        one for one in told if one.night <= stress and (one.over is None or one.over > stress)
    ]
    if standing:
        return Lead("warned", (stress - standing[-1].night).days)
    later = [one for one in told if one.night > stress]
    return Lead("late", (stress - later[0].night).days) if later else Lead("never")


def warning_past(
    told: Told,
    held: Mapping[date, float],
    water: Mapping[date, float],
    end: date | None,
    mark: float,
) -> WarningPast:
    """Hold one warning against the days that came.

    Parameters
    ----------
    told
        The warning.
    held
        Stress of the held roots by day; of days that are missing nothing is known. [d]
    water
        Rain and watering by day. [mm]
    end
        Last day of the season; after it nothing can come. None: not known.
    mark
        Stress that is real. [d]
    """
    last = told.last + timedelta(days=WINDOW_DAYS - 1)
    window = between(told.night, last if end is None else min(last, end))
    stress, missing = known_sum(held, window)
    fallen, dry = known_sum(water, window)
    water_mm = fallen if dry < len(window) else None
    return WarningPast(
        night=told.night,
        last=told.last,
        rung=told.rung,
        stress=None if missing and missing == len(window) else stress,
        water_mm=water_mm,
        came=_came(stress, missing, fallen, mark),
    )


def _came(stress: float, missing: int, water_mm: float, mark: float) -> Came:
    """What a warning came to; days that are missing could have been the stress."""
    if stress > mark:
        return "came"
    if missing:
        return "not_known"
    return "rain_came" if water_mm >= RAIN_MM else "not_came"
