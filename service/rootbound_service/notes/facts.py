"""What a note or a digest says about one field, as values: no database, no text yet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_rules.risk.cause import Cause
    from rootbound_rules.risk.exposure import Exposure
    from rootbound_rules.risk.more_plants import MorePlants
    from rootbound_rules.risk.rain_to_hold import ToHold
    from rootbound_rules.season.heat_normal import HeatNormal

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


@dataclass(frozen=True, slots=True)
class Spell:
    """A day of the outlook with its range, the middle 80 % of the members.

    ``last`` is None where more than a tenth of the members never come to it.
    """

    middle: date
    first: date
    last: date | None


@dataclass(frozen=True, slots=True)
class Forecasted:
    """Whose forecast an outlook begins with, and how far it goes."""

    title: str
    issued: date
    through: date


@dataclass(frozen=True, slots=True)
class Reach:
    """Reach of the held roots on a coming day, the middle 80 % of the members. [0-1]"""

    day: date
    low: float
    middle: float
    high: float


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
    reach: NDArray[np.float64] | None = None
    """Median reach of the held roots on each of ``dates``. [0-1]"""
    reach_ahead: NDArray[np.float64] | None = None
    """The same on each day ahead. [0-1]"""


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
    held_short: Spell | None = None
    """When the held roots run short; None where most members do not come to it."""
    free_short: Spell | None = None
    chance_short: float | None = None
    """Share of members whose held roots run short before black layer. [0-1]"""
    rung_chances: tuple[float, ...] = ()
    """Share of members by their worst rung of the coming 14 days, 0 to 4. [0-1]"""
    rain_to_hold: ToHold | None = None
    water_to_hold: ToHold | None = None
    """The same for irrigation, where the field has it."""
    reach_later: Reach | None = None
    forecast: Forecasted | None = None
    """What the outlook begins with."""
    more_plants: MorePlants | None = None
    belief: Mapping[str, object] | None = None
    """How reports of rolled leaves moved the figures, from ``Belief.told()``."""
    gauge_days: int = 0
    """Days whose rain is that of the field's own gauge."""
    watered_days: int = 0
    pan_class: int = 0
    """Of the last dig; 0: no pan, or no dig."""
    pan_depth_cm: float | None = None
    news: str = ""
    """Named reason of news of the roots themselves: grown free, or held after all."""
    cause: Cause | None = None
    """What stands behind the rung."""
    exposure: Exposure | None = None
    """Published losses for stress days like those so far and in the outlook."""
    heat_normal: HeatNormal | None = None
    """Heat units of past years over the same days."""
