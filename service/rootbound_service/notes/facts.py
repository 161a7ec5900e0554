"""What a note or a digest says about one field, as values: no database, no text yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Status = Literal["watched", "unrated", "unknown", "waiting", "finished"]
"""watched: on the ladder; unrated: no dig yet, computed as free roots; unknown: weather
too old; waiting: not planted or not emerged; finished: black layer reached."""


@dataclass(frozen=True, slots=True)
class DaysAhead:
    """How many days sooner the held roots run short than free roots would.

    ``kind`` says which sentence holds: ``days`` (median, low, high are set),
    ``free_would_not`` (held roots run short, free roots would not),
    ``neither`` (neither runs short by black layer), ``none`` (nothing to compare).
    Range: the middle 80 % of the outlook's members.
    """

    kind: Literal["days", "free_would_not", "neither", "none"]
    median: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SeasonSeries:
    """The season in one picture; every array has the length of its dates.

    ``dates`` runs from planting to the last known day; ``ahead`` from the next day on.
    Water is what the roots can still take up before stress. [mm]
    """

    dates: tuple[date, ...]
    rain_mm: NDArray[np.float64]
    held_water_mm: NDArray[np.float64]
    free_water_mm: NDArray[np.float64]
    ahead: tuple[date, ...] = ()
    held_low_mm: NDArray[np.float64] | None = None
    held_mid_mm: NDArray[np.float64] | None = None
    held_high_mm: NDArray[np.float64] | None = None
    free_mid_mm: NDArray[np.float64] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class FieldFacts:
    """Everything that may be said about one field on one night."""

    field_id: int
    field_name: str
    grower_name: str
    night: date
    crop: str
    stage: str
    """Trade name of the stage: planted, VE, V6, VT, R1 ... R6."""
    planted: date
    gdd_f_total: float
    days_to_silk: int | None
    """Median of the outlook; negative or None once silks are out."""
    status: Status
    rung: int | None
    """The held twin's rung 0-4; for an unrated field that of free roots; None if unknown."""
    previous_rung: int | None
    free_rung: int | None
    reason: str
    """Named reason of the decision, e.g. ``stress_likely_7_days`` (rules.risk.ladder.Reason)."""
    wall_class: int | None
    dug_on: date | None
    plants_dug: int
    reach: float | None
    """Share of the rooted soil within reach of the held roots. [0-1]"""
    water_in_reach_mm: float | None
    free_water_mm: float | None
    days_ahead: DaysAhead
    chance_7: float | None
    """Share of members whose stress of the next 7 days passes the rung-2 mark. [0-1]"""
    chance_14: float | None
    """Share of members whose stress of the next 14 days passes the rung-1 mark. [0-1]"""
    stress_past_7: float | None
    """Stress-day equivalents of the past 7 days, held twin."""
    stress_season: float | None
    """Stress-day equivalents of the season to date, held twin."""
    weather_source: str
    weather_through: date | None
    """Last day of real weather behind this."""
    series: SeasonSeries | None
    critical_window: bool = False
