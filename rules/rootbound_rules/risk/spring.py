"""What the weather and the soil of one field were like at planting and since, as values."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.errors import RulesError
from rootbound_rules.season.trace import run_trace
from rootbound_rules.tables import load_table
from rootbound_rules.water.evaporation import total_evaporable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.trace_day import TraceDay
    from rootbound_rules.season.values import FieldSeason, Soil


@dataclass(frozen=True, slots=True)
class Spring:
    """One field from three days before planting until yesterday."""

    planted_share: float
    """Water of the top layer on the morning of planting, of field capacity. [0-1]"""
    rain_before_mm: float
    """Of the days before planting. [mm]"""
    rain_planting_mm: float
    """Of planting day, before or after the planter: the day's sum does not say. [mm]"""
    since_soaking: int | None
    """Days since the last soaking rain or watering after planting; None: none yet. [d]"""
    days_planted: int
    longest_dry: int
    """Longest run of days since planting without one. [d]"""
    top_dry: float
    """How far the top layer has dried by now, of what can evaporate. [0-1]"""
    clay_pct: float
    texture: str
    irrigated: bool


def read_spring(season: FieldSeason, demand: Demand, today: date, *, irrigated: bool) -> Spring:
    """Run one field's bare soil and young crop with the tables' own numbers, and read them.

    Parameters
    ----------
    season
        The field.
    demand
        Its days, from before planting on.
    today
        The day of the night's run: only days before it are read.
    irrigated
        Whether the field can be watered.

    Returns
    -------
    Spring
        By the central trace.

    Raises
    ------
    RulesError
        If no day before planting is known, or none since.
    """
    traced = run_trace(season, _until(demand, season.planted, today))
    return spring_of(traced, season, today, irrigated=irrigated)


def spring_of(
    traced: Sequence[TraceDay], season: FieldSeason, today: date, *, irrigated: bool
) -> Spring:
    """Read a trace.

    Parameters
    ----------
    traced
        Days in order, spin-up included.
    season
        The field.
    today
        Only days before it are read, and planting day.
    irrigated
        Whether the field can be watered.

    Raises
    ------
    RulesError
        If the trace has no day before planting.
    """
    rows = load_table("dig_list")
    soaking = rows.number("rain.soaking_mm")
    before = [day for day in traced if day.date < season.planted]
    planting = [day for day in traced if day.date == season.planted]
    since = [day for day in traced if season.planted < day.date < today]
    if not before or not planting:
        raise RulesError(f"no weather of the days around planting on {season.planted}")
    dry, longest, soaked = 0, 0, False
    for day in since:
        wetted = day.rain_mm + day.irrigation_mm >= soaking
        soaked, dry = soaked or wetted, 0 if wetted else dry + 1
        longest = max(longest, dry)
    first = season.planted - timedelta(days=int(rows.number("rain.days_before")))
    last = since[-1] if since else planting[0]
    return Spring(
        planted_share=_share(before[-1].top_depletion_mm, season.soil),
        rain_before_mm=sum(day.rain_mm for day in before if day.date >= first),
        rain_planting_mm=planting[0].rain_mm,
        since_soaking=dry if soaked else None,
        days_planted=len(since),
        longest_dry=longest,
        top_dry=last.top_depletion_mm / _evaporable(season.soil),
        clay_pct=season.soil.clay_pct,
        texture=season.soil.texture,
        irrigated=irrigated,
    )


def _until(demand: Demand, planted: date, today: date) -> Demand:
    """The days before today, planting day at the least."""
    end = demand.index(max(today, planted + timedelta(days=1)))
    if end >= len(demand):
        return demand
    names = ("rain_mm", "et0_mm", "gdd_f", "climate", "irrigation_mm", "made")
    return replace(demand, **{name: getattr(demand, name)[:end] for name in names})


def _share(depletion_mm: float, soil: Soil) -> float:
    """Water content of the top layer, of that at field capacity. [0-1]"""
    depth = load_table("season").number("top_layer_m")
    # FAO-56 chapter 7: the layer is not depleted at field capacity
    return 1.0 - depletion_mm / (1000.0 * depth * soil.field_capacity)


def _evaporable(soil: Soil) -> float:
    """Water that can evaporate from the top layer. [mm]"""
    depth = load_table("season").number("top_layer_m")
    return total_evaporable(soil.field_capacity, soil.wilting_point, depth)
