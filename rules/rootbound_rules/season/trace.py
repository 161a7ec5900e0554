"""One field, day by day in float64: what an agronomist can hold against the book.

The same equations as the kernel's, called as they are written, one after the other.
"""

from __future__ import annotations

from dataclasses import fields
from datetime import timedelta
from typing import TYPE_CHECKING

from rootbound_rules.crop.heat import corn_heat_units
from rootbound_rules.crop.table import crop_table
from rootbound_rules.errors import RulesError
from rootbound_rules.season.crop_day import (
    canopy_day,
    counted_share,
    counted_stress,
    growth_day,
    held_reach,
    step_at_pan,
)
from rootbound_rules.season.demand import cell_demand
from rootbound_rules.season.draw import Draw, central_draw
from rootbound_rules.season.plan import DigPlan, Plan, is_held, make_plan, plan_digs
from rootbound_rules.season.step import recent_use, wall_day, water_in_reach, zone_day
from rootbound_rules.season.surface import surface_day
from rootbound_rules.season.trace_day import TraceDay, Twin
from rootbound_rules.water.coefficients import adjusted, height_factor
from rootbound_rules.water.rootzone import depletion_fraction
from rootbound_rules.water.water_table import deepest_root

if TYPE_CHECKING:
    from rootbound_rules.season.demand import Demand
    from rootbound_rules.season.values import DailyWeather, FieldSeason


_DAY = timedelta(days=1)


def trace_season(season: FieldSeason, weather: DailyWeather) -> list[TraceDay]:
    """Run one season from plain daily weather.

    Parameters
    ----------
    season
        The field, its soil, crop and digs.
    weather
        Days from planting or before; see :class:`DailyWeather` for gaps.

    Returns
    -------
    list of TraceDay
        As :func:`run_trace`, corn heat units included.
    """
    crop = crop_table(season.crop)
    limits = (crop.number("heat.base_f"), crop.number("heat.ceiling_f"))
    demand = cell_demand(weather, season.lat, season.elevation_m, *limits)
    return run_trace(season, demand, weather=weather)


def run_trace(
    season: FieldSeason,
    demand: Demand,
    draw: Draw | None = None,
    weather: DailyWeather | None = None,
) -> list[TraceDay]:
    """Run one season from its first day to the end of the weather.

    Parameters
    ----------
    season
        The field, its soil, crop and digs.
    demand
        Days of weather in the step's terms; may begin later than the spin-up would.
    draw
        Other numbers for what is uncertain; None for the tables' own.
    weather
        The same days as given, for corn heat units; None leaves them 0.

    Returns
    -------
    list of TraceDay
        From the first simulated day on, spin-up included.

    Raises
    ------
    RulesError
        If the weather does not cover the planting date.
    """
    plan = make_plan(season)
    if not demand.start <= plan.planted <= demand.start + (len(demand) - 1) * _DAY:
        raise RulesError(
            f"weather from {demand.start} over {len(demand)} days does not cover "
            f"planting on {plan.planted}"
        )
    if plan.first < demand.start:
        plan = make_plan(season, demand.start)
    digs = plan_digs(season, plan.first)
    return _Runner(
        plan, draw or central_draw(season.soil, season.crop), digs, demand, weather
    ).run()


class _Runner:
    """Carries the state of both twins from day to day."""

    def __init__(
        self,
        plan: Plan,
        draw: Draw,
        digs: list[DigPlan],
        demand: Demand,
        weather: DailyWeather | None,
    ) -> None:
        self.plan, self.draw, self.digs, self.demand = plan, draw, digs, demand
        self.offset = demand.index(plan.first)
        self.held_at_all = is_held(digs, plan.class0)
        self.top = plan.start_depletion * plan.tew
        self.crossed = self.trapped = self.out = self.use = 0.0
        self.free, self.held = self._at_start(), self._at_start()
        self.total = self.corn_total = 0.0
        self.weather = weather
        self.kcb_mid, self.kcb_end = self._climate_of_season()

    def run(self) -> list[TraceDay]:
        """Every day to the end of the weather."""
        return [self._day(d) for d in range(len(self.demand) - self.offset)]

    def _at_start(self) -> Twin:
        """A twin on its first day: bare soil, every store equally depleted."""
        plan, mm = self.plan, self.plan.start_depletion * self.draw.available
        within = mm * plan.start_depth
        below = mm * max(min(plan.profile, plan.table) - plan.start_depth, 0.0)
        return Twin(plan.start_depth, within, within, below, plan.table)

    def _climate_of_season(self) -> tuple[float, float]:
        """Mid and end coefficients in the climate of this season (Eq. 70)."""
        plan, total = self.plan, 0.0
        mid: list[float] = []
        end: list[float] = []
        for i in range(self.demand.index(plan.planted), len(self.demand)):
            if i > self.demand.index(plan.planted):
                total += self.demand.gdd_f[i]
            if plan.kc_mid_start <= total < plan.kc_late_start:
                mid.append(self.demand.climate[i])
            elif plan.kc_late_start <= total < plan.maturity:
                end.append(self.demand.climate[i])
        factor = height_factor(plan.height)
        return (
            adjusted(self.draw.kcb_mid, sum(mid) / max(len(mid), 1), factor),
            adjusted(plan.kcb_end, sum(end) / max(len(end), 1), factor),
        )

    def _day(self, d: int) -> TraceDay:
        """One day of both twins."""
        plan, i = self.plan, self.offset + d
        rain, water = float(self.demand.rain_mm[i]), float(self.demand.irrigation_mm[i])
        et0, gdd = float(self.demand.et0_mm[i]), float(self.demand.gdd_f[i])
        planted = 1.0 if d >= plan.plant_day else 0.0
        self.total += gdd if d > plan.plant_day else 0.0
        kcb, height = canopy_day(
            self.total, planted, plan.kc_initial_end, plan.kc_mid_start, plan.kc_late_start,
            plan.maturity, plan.kcb_initial, self.kcb_mid, self.kcb_end, plan.height,
        )  # fmt: skip
        top, infiltration, ke, lost = surface_day(
            self.top, rain, water, et0, kcb, plan.kc_min, float(self.demand.climate[i]),
            height, plan.tew, plan.rew, plan.dry_cn, plan.wet_cn,
        )  # fmt: skip
        collar, step, axes, growing = growth_day(
            self.total, planted, plan.emergence, plan.collar_early, plan.collar_late,
            plan.collar_turn, plan.collar_last, plan.front_early, plan.front_late,
            plan.front_turn, plan.front_last, plan.axes_first, plan.axes_second,
            plan.axes_most, plan.axes_last, plan.axes_share_second, plan.axes_share_most,
        )  # fmt: skip
        put_out, self.out = axes - self.out, axes
        self.use = recent_use(self.use, ke * et0 + kcb * et0, plan.recent)
        self._zone(self.free, step, 1.0, infiltration, ke * et0, kcb * et0)
        if self.held_at_all:
            held_step, now = self._held(d, step, collar, put_out, growing)
            self._zone(self.held, held_step, now, infiltration, ke * et0, kcb * et0)
        else:
            self.held = _copy(self.free)
        for twin in (self.free, self.held):
            twin.stress = counted_stress(
                twin.ks, collar, plan.stress_from, self.total, plan.kc_late_start, plan.maturity
            )
            twin.stress_days += twin.stress
        if not self.held_at_all:
            self.held.stress_days = self.free.stress_days
        self.top = top
        stage = plan.stages.name(self.total) if planted else "fallow"
        return TraceDay(
            plan.first + d * _DAY, gdd, self.total, *self._corn_heat(d), stage, collar, rain,
            water, et0, kcb, ke, lost, infiltration, top, self.crossed, self.trapped,
            _copy(self.free), _copy(self.held),
        )  # fmt: skip

    def _corn_heat(self, d: int) -> tuple[float, float]:
        """Corn heat units of the day and since planting, 0 where no temperatures were given."""
        today = 0.0 if self.weather is None else _corn_heat_of(self.weather, self.offset + d)
        self.corn_total += today if d > self.plan.plant_day else 0.0
        return today, self.corn_total

    def _held(
        self, d: int, step: float, collar: float, put_out: float, growing: float
    ) -> tuple[float, float]:
        """Deepening and reach of the held roots today."""
        plan, draw, dig = self.plan, self.draw, self.digs[0]
        for later in self.digs[1:]:
            dig = later if later.day <= d else dig
        if growing + put_out > 0:  # the last axes may come on the day the window closes
            self.crossed, self.trapped = wall_day(
                self.top, plan.tew, plan.wilting_share, draw.drying, self.crossed, self.trapped,
                put_out, dig.wall, plan.class0, draw.halving, draw.late_rate * growing,
            )  # fmt: skip
        for today in self.digs:
            if today.day == d and today.counted is not None:
                self.crossed, self.trapped = counted_share(
                    self.crossed, self.trapped, today.counted
                )
        if dig.pan > 0:
            step = step_at_pan(
                step, self.held.depth, dig.pan_depth, dig.leak, dig.pan, draw.halving,
                self.held.within, draw.available * self.held.depth, plan.wilting_share, draw.drying,
            )  # fmt: skip
        limit = deepest_root(plan.profile, self.held.table)
        deeper = max(min(self.held.depth + step, limit), self.held.depth)
        return step, held_reach(
            collar, draw.slot, plan.half_row, plan.width_begin, plan.width_end, draw.widening,
            deeper, plan.seed_depth, self.crossed, self.trapped,
        )  # fmt: skip

    def _zone(
        self,
        twin: Twin,
        step: float,
        now: float,
        infiltration: float,
        evaporation: float,
        need: float,
    ) -> None:
        """One day of one twin's root zone."""
        plan, draw = self.plan, self.draw
        (
            twin.depth, twin.within, twin.beyond, twin.below, twin.table, twin.ks, twin.p,
            twin.evaporation, twin.transpiration, twin.percolation, twin.rise,
        ) = zone_day(
            twin.depth, step, plan.profile, twin.reach, now, twin.within, twin.beyond,
            twin.below, twin.table, infiltration, evaporation, need, plan.table_p,
            draw.available, draw.diffusivity, plan.half_row, plan.rise_factor,
            plan.rise_exponent, plan.rise_most, plan.rise_farthest, plan.yield_, plan.table,
            plan.table_left,
        )  # fmt: skip
        twin.reach = now
        twin.taw = draw.available * twin.depth
        share = depletion_fraction(self.plan.table_p, self.use)
        twin.water = water_in_reach(now, twin.within, twin.taw, share)


def _corn_heat_of(weather: DailyWeather, i: int) -> float:
    """Corn heat units of one day; 0 where a temperature is missing."""
    heat = corn_heat_units(float(weather.tmax_c[i]), float(weather.tmin_c[i]))
    return heat if heat == heat else 0.0  # noqa: PLR0124  (NaN is not itself)


def _copy(twin: Twin) -> Twin:
    """A twin's state as it stands."""
    return Twin(*(getattr(twin, f.name) for f in fields(twin)))
