"""Everything fixed about one field's season, worked out once from its values and the tables."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

from rootbound_rules.crop.dig import crossed_share
from rootbound_rules.crop.table import Stages, crop_table, stages_of
from rootbound_rules.errors import RulesError
from rootbound_rules.season.values import Dig, FieldSeason
from rootbound_rules.tables import load_table
from rootbound_rules.water.evaporation import total_evaporable
from rootbound_rules.water.runoff import dry_curve_number, wet_curve_number
from rootbound_rules.water.water_table import steady_rise_factors

DEEP_TABLE_M = 1e3
"""Depth that stands for a water table out of reach. [m]"""


@dataclass(frozen=True, slots=True)
class DigPlan:
    """One dig as the daily step needs it; ``counted`` is None where no roots were counted."""

    day: int
    """Days after the first simulated day."""
    wall: float
    counted: float | None
    pan: float
    pan_depth: float
    leak: float


@dataclass(frozen=True, slots=True)
class Plan:
    """One field's season in the step's own terms; names match ``season.layout.F``."""

    first: date
    planted: date
    stages: Stages
    tew: float
    rew: float
    dry_cn: float
    wet_cn: float
    wilting_share: float
    profile: float
    half_row: float
    seed_depth: float
    start_depth: float
    start_depletion: float
    table: float
    rise_factor: float
    rise_exponent: float
    rise_most: float
    rise_farthest: float
    yield_: float
    table_left: float
    """Share of the table's height over the drains that is left after a day."""
    class0: float
    emergence: float
    collar_early: float
    collar_late: float
    collar_turn: float
    collar_last: float
    kc_initial_end: float
    kc_mid_start: float
    kc_late_start: float
    maturity: float
    kcb_initial: float
    kcb_mid: float
    kcb_end: float
    kc_min: float
    height: float
    table_p: float
    recent: float
    """Weight of a day in the use of late."""
    front_early: float
    front_late: float
    front_turn: float
    front_last: float
    axes_first: float
    axes_second: float
    axes_most: float
    axes_last: float
    axes_share_second: float
    axes_share_most: float
    width_begin: float
    width_end: float
    stress_from: float

    @property
    def plant_day(self) -> int:
        """Days from the first simulated day to planting."""
        return (self.planted - self.first).days


def plan_digs(season: FieldSeason, first: date, quantile: float | None = None) -> list[DigPlan]:
    """Return the digs of a season in order of date.

    Parameters
    ----------
    season
        The field and its digs.
    first
        The first simulated day.
    quantile
        Position in the posterior of the counted share; None for its mean. [0-1]
    """
    return [
        _dig_plan(dig, (dig.dug_on - first).days, quantile)
        for dig in sorted(season.digs, key=lambda dig: dig.dug_on)
    ]


def _dig_plan(dig: Dig, day: int, quantile: float | None) -> DigPlan:
    """Look up what one dig's classes stand for."""
    wall = load_table("wall")
    resistance = wall.numbers("wall.resistance_mpa")
    if dig.wall_class not in range(len(resistance)):
        raise RulesError(f"wall class {dig.wall_class}: wanted 0, 1, 2 or 3")
    if dig.pan_class not in range(len(wall.numbers("pan.leak"))):
        raise RulesError(f"pan class {dig.pan_class}: wanted 0, 1, 2 or 3")
    if dig.pan_class and dig.pan_depth_cm is None:
        raise RulesError(f"dig of {dig.dug_on}: pan class {dig.pan_class} needs pan_depth_cm")
    counted = None
    if dig.crossing is not None and dig.held is not None and dig.crossing + dig.held > 0:
        counted = crossed_share(dig.crossing, dig.held, quantile, wall.number("dig.prior"))
    return DigPlan(
        day=day,
        wall=resistance[dig.wall_class],
        counted=counted,
        pan=wall.numbers("pan.resistance_mpa")[dig.pan_class],
        pan_depth=0.01 * (dig.pan_depth_cm or 0.0),
        leak=wall.numbers("pan.leak")[dig.pan_class],
    )


@dataclass(frozen=True, slots=True)
class OfHybrid:
    """What fields of one crop, hybrid and seed depth have in common."""

    stages: Stages
    numbers: dict[str, float]


def of_hybrid(season: FieldSeason) -> OfHybrid:
    """Work out what a season has in common with others, see :func:`hybrid_key`.

    Parameters
    ----------
    season
        The field's.
    """
    stages = stages_of(season)
    return OfHybrid(stages, _crop_numbers(season.crop, stages) | _root_numbers(season.crop))


def hybrid_key(season: FieldSeason) -> tuple[object, ...]:
    """Name everything that :func:`of_hybrid` reads of a season.

    Parameters
    ----------
    season
        The field's.
    """
    late = season.planted if season.late_planting_cut else None
    return (season.crop, season.black_layer_gdd_f, season.seed_depth_cm, late)


def first_day(season: FieldSeason) -> date:
    """Return the first simulated day where the weather goes back far enough.

    Parameters
    ----------
    season
        The field's.
    """
    return season.planted - timedelta(days=int(load_table("season").number("spinup_days")))


def make_plan(
    season: FieldSeason, first: date | None = None, hybrid: OfHybrid | None = None
) -> Plan:
    """Work out everything fixed about one season.

    Parameters
    ----------
    season
        The field, its soil and its crop.
    first
        First simulated day; None for the spin-up row before planting.
    hybrid
        From :func:`of_hybrid`, where a caller has it from another field.
    """
    rules, known = load_table("season"), hybrid or of_hybrid(season)
    return Plan(
        first=first or first_day(season),
        planted=season.planted,
        stages=known.stages,
        half_row=0.5 * season.row_spacing_cm,
        seed_depth=season.seed_depth_cm,
        class0=load_table("wall").numbers("wall.resistance_mpa")[0],
        recent=1.0 / rules.number("recent_days"),
        stress_from=load_table("ladder").number("stress_from_collar"),
        **_soil_numbers(season),
        **known.numbers,
    )


def _soil_numbers(season: FieldSeason) -> dict[str, float]:
    """What follows from the soil."""
    soil, rules = season.soil, load_table("season")
    table = soil.water_table_m if soil.water_table_m is not None else DEEP_TABLE_M
    start_depth = crop_table(season.crop).number("roots.start_m")
    share = rules.number("start_depletion")
    factor, exponent = steady_rise_factors(
        soil.conductivity_mm_d, soil.pore_index, soil.air_entry_cm
    )
    return {
        "tew": total_evaporable(
            soil.field_capacity, soil.wilting_point, rules.number("top_layer_m")
        ),
        "rew": soil.rew_mm,
        "dry_cn": dry_curve_number(soil.curve_number),
        "wet_cn": wet_curve_number(soil.curve_number),
        "wilting_share": soil.wilting_point / soil.field_capacity,
        "profile": max(soil.profile_depth_m, start_depth),
        "start_depth": start_depth,
        "start_depletion": share if season.start_depletion is None else season.start_depletion,
        "table": table,
        "rise_factor": factor,
        "rise_exponent": exponent,
        "rise_most": rules.number("water_table.most_mm_d"),
        "rise_farthest": rules.number("water_table.farthest_m"),
        "yield_": rules.number("water_table.yield_mm_m"),
        "table_left": math.exp(-1.0 / rules.number("water_table.recession_days")),
    }


def _crop_numbers(name: str, stages: Stages) -> dict[str, float]:
    """What follows from the crop's table above the ground."""
    crop = crop_table(name)
    return {
        "emergence": stages.emergence,
        "collar_early": stages.collar_early,
        "collar_late": stages.collar_late,
        "collar_turn": stages.collar_turn,
        "collar_last": stages.collar_last,
        "kc_initial_end": stages.at_collar(crop.number("kcb.initial_end_collar")),
        "kc_mid_start": stages.at_collar(crop.number("kcb.mid_start_collar")),
        "kc_late_start": stages.r5,
        "maturity": stages.black_layer,
        "kcb_initial": crop.number("kcb.initial"),
        "kcb_mid": crop.number("kcb.mid"),
        "kcb_end": crop.number("kcb.end"),
        "kc_min": crop.number("kcb.bare"),
        "height": crop.number("height_m"),
        "table_p": crop.number("depletion_fraction"),
    }


def _root_numbers(name: str) -> dict[str, float]:
    """What follows from the crop's table below the ground."""
    crop = crop_table(name)
    axes, shares = crop.numbers("roots.axes_collars"), crop.numbers("roots.axes_shares")
    width = crop.numbers("roots.width_collars")
    return {
        "front_early": crop.number("roots.front_early_m_d"),
        "front_late": crop.number("roots.front_late_m_d"),
        "front_turn": crop.number("roots.front_turn_collar"),
        "front_last": crop.number("roots.front_last_collar"),
        "axes_first": axes[0],
        "axes_second": axes[1],
        "axes_most": axes[2],
        "axes_last": axes[3],
        "axes_share_second": shares[0],
        "axes_share_most": shares[1],
        "width_begin": width[0],
        "width_end": width[1],
    }


def is_held(digs: list[DigPlan], class0: float) -> bool:
    """Tell whether any dig found roots held by a wall, a pan or by their count."""
    return any(dig.wall > class0 or dig.pan > 0 or dig.counted is not None for dig in digs)
