"""The steps from weather, soil and spade to stress, day by day, as an agronomist checks them."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.crop.table import heat_limits
from rootbound_rules.season.demand import (
    FILLED_HUMIDITY,
    FILLED_SOLAR,
    FILLED_WIND,
    GAP,
    GIVEN_ET0,
    Demand,
)
from rootbound_rules.season.draw import central_draw
from rootbound_rules.season.trace import run_trace
from rootbound_service.nights.explain_step import CHOICE, FAO, Days, Figure, Step, row_figure

if TYPE_CHECKING:
    from rootbound_rules.season.plan import Plan
    from rootbound_rules.season.trace_day import TraceDay
    from rootbound_rules.season.values import Dig, Series
    from rootbound_service.nights.explain_again import Figures
    from rootbound_service.nights.explain_inputs import Inputs

SHOWN = 7
"""Days told of one by one: the longest past that a rung looks at."""
TRACED = (
    "These days are traced once with the tables' own numbers; the night computed them for "
    "every member with its own draw, so its medians may differ a little."
)
MADE = {
    FILLED_SOLAR: "sun",
    FILLED_HUMIDITY: "air",
    FILLED_WIND: "wind",
    GIVEN_ET0: "given",
    GAP: "gap",
}


def field_steps(inputs: Inputs, figures: Figures) -> list[Step]:
    """Tell the steps from the weather to both twins' stress.

    Parameters
    ----------
    inputs
        What was known on the night.
    figures
        What came of it.

    Returns
    -------
    list of Step
        Heat, what the air asks for, soil, top layer and wall, and both root zones.
    """
    days = traced(inputs, figures)
    plan, shown = figures.outlook.plan, days[-SHOWN:]
    return [
        _heat(inputs, plan, shown),
        _air(inputs, figures, shown),
        _soil(inputs, plan),
        _wall(inputs, shown),
        _zones(shown),
    ]


def traced(inputs: Inputs, figures: Figures) -> list[TraceDay]:
    """Run the known days once with the tables' own numbers, in full precision.

    Parameters
    ----------
    inputs, figures
        As for :func:`field_steps`.
    """
    demand, plan = figures.demand, figures.outlook.plan
    begin, end = demand.index(plan.first), demand.index(inputs.known_through) + 1
    names = [one.name for one in fields(Demand) if one.name != "start"]
    parts = {name: getattr(demand, name)[begin:end] for name in names}
    return run_trace(inputs.season, replace(demand, start=plan.first, **parts))


def _heat(inputs: Inputs, plan: Plan, days: list[TraceDay]) -> Step:
    """Heat units and the stage they reach."""
    base, ceiling = heat_limits(inputs.season.crop)
    stages, last = plan.stages, days[-1]
    return Step(
        "Heat units and stage",
        (
            Figure("both temperatures held within", f"{base:g}-{ceiling:g}", "F", "method 2"),
            Figure(f"heat units since {plan.planted}", last.gdd_f_total, "gdd_f"),
            Figure("leaf collars that show", last.collars, "", "82, then 50 gdd_f each"),
            Figure("stage", last.stage),
            Figure("emergence at", stages.emergence, "gdd_f"),
            Figure("silking at", stages.silk, "gdd_f"),
            Figure("black layer at", stages.black_layer, "gdd_f"),
        ),
        cites=("mcmaster_wilhelm_1997", "nielsen_2014_leaf_collar"),
    )


def _air(inputs: Inputs, figures: Figures, days: list[TraceDay]) -> Step:
    """Reference evapotranspiration and what the crop would use of it."""
    demand, weather = figures.demand, inputs.weather
    rows = tuple(
        (
            one.date.isoformat()[5:],
            _at(weather.tmax_c, demand, one),
            _at(weather.tmin_c, demand, one),
            one.rain_mm,
            one.irrigation_mm,
            one.et0_mm,
            one.kcb,
            _made(int(demand.made[demand.index(one.date)])),
        )
        for one in days
    )
    heads = ("day", "tmax", "tmin", "rain", "irr.", "ET0", "Kcb", "estimated")
    seen = inputs.observed
    gauged = sum(one.date in seen.rain_mm for one in days)
    words = (f"Rain of {gauged} of these days is from the field's own gauge.",) if gauged else ()
    return Step(
        "What the air asks for",
        (
            Figure("reference evapotranspiration ET0", days[-1].et0_mm, "mm", FAO + "Eq. 6"),
            Figure("sun, air, wind where missing", "estimated", "", FAO + "Eq. 50, 48, ch. 3"),
            Figure("basal coefficient Kcb", days[-1].kcb, "", FAO + "Eq. 66, 70"),
        ),
        Days(heads, ("", "C", "C", "mm", "mm", "mm", "", ""), rows),
        words,
        ("fao56_ch3", "fao56_table17"),
    )


def _soil(inputs: Inputs, plan: Plan) -> Step:
    """Water the soil can hold."""
    soil = inputs.season.soil
    draw = central_draw(soil, inputs.season.crop)
    curve = f"{plan.dry_cn:.0f}-{plan.wet_cn:.0f}"
    return Step(
        "Soil",
        (
            Figure("field capacity", soil.field_capacity, "m3 m-3"),
            Figure("wilting point", soil.wilting_point, "m3 m-3"),
            Figure("available water", draw.available, "mm m-1", FAO + "Eq. 82"),
            Figure("evaporable water TEW", plan.tew, "mm", FAO + "Eq. 73"),
            Figure("readily evaporable water REW", plan.rew, "mm", FAO + "Table 19"),
            Figure("curve number, dry to wet", curve, "", "NEH-630 ch. 10"),
            Figure("profile depth", plan.profile, "m"),
            Figure("diffusivity", soil.diffusivity_cm2_d, "cm2 d-1", "Crank 1975"),
        ),
        cites=("saxton_rawls_2006", "neh630_ch10", "fao56_table19", "crank_1975"),
    )


def _wall(inputs: Inputs, days: list[TraceDay]) -> Step:
    """What the wall lets through, and how far the roots reach."""
    digs, last = inputs.season.digs, days[-1]
    if not digs:
        words = ("No dig yet: computed with free roots and called unrated, never fine.",)
        return Step("Top layer, wall and reach", words=words)
    found = "; ".join(_dug(one) for one in digs)
    drying = central_draw(inputs.season.soil, inputs.season.crop).drying
    rows = tuple(
        (one.date.isoformat()[5:], one.infiltration_mm, one.runoff_mm, one.top_depletion_mm,
         one.crossed, one.trapped, one.held.reach)
        for one in days
    )  # fmt: skip
    return Step(
        "Top layer, wall and reach",
        (
            Figure("depletion of the top layer", last.top_depletion_mm, "mm", FAO + "Eq. 77"),
            Figure("exponent of strength on drying", drying, "", "da Silva & Kay 1997"),
            row_figure("resistance that halves growth", "wall", "wall.halving_mpa"),
            Figure("axes that crossed, of those out", _share(last), "", CHOICE),
            Figure("reach of the held roots", last.held.reach, "", CHOICE),
        ),
        Days(
            ("day", "infilt.", "runoff", "depletion", "crossed", "trapped", "reach"),
            ("", "mm", "mm", "mm", "", "", ""),
            rows,
        ),
        (f"Digs: {found}.",),
        ("dasilva_kay_1997", "whalley_2007", "bengough_2011", "jeffreys_1946"),
    )


def _zones(days: list[TraceDay]) -> Step:
    """Depletion and stress of both twins."""
    rows = tuple(
        (one.date.isoformat()[5:], one.held.depth, one.held.taw, one.held.p, one.held.within,
         one.held.water, one.held.ks, one.free.within, one.free.water, one.free.ks)
        for one in days
    )  # fmt: skip
    heads = ("day", "Zr", "TAW", "p", "Ds held", "water", "Ks", "Ds free", "water", "Ks")
    return Step(
        "Depletion and stress of the root zone",
        (
            Figure("total available water TAW", days[-1].held.taw, "mm", FAO + "Eq. 82"),
            Figure("share used before stress, p", days[-1].held.p, "", FAO + "p. 162"),
            Figure("stress coefficient Ks, held", days[-1].held.ks, "", FAO + "Eq. 84"),
            Figure("stress coefficient Ks, free", days[-1].free.ks, "", FAO + "Eq. 84"),
            Figure("stress-day equivalents, held", days[-1].held.stress_days, "d", "sum of 1 - Ks"),
            Figure("stress-day equivalents, free", days[-1].free.stress_days, "d", "sum of 1 - Ks"),
        ),
        Days(heads, ("", "m", "mm", "", "mm", "mm", "", "mm", "mm", ""), rows),
        (TRACED,),
        ("fao56_ch7", "fao56_table22", "ordonez_2018"),
    )


def _dug(dig: Dig) -> str:
    """One dig in a few words."""
    counted = "not counted" if dig.crossing is None else f"{dig.crossing} crossing, {dig.held} held"
    pan = f", pan {dig.pan_class} at {dig.pan_depth_cm:g} cm" if dig.pan_class else ""
    return f"{dig.dug_on} wall {dig.wall_class}, {counted}{pan}"


def _share(day: TraceDay) -> float:
    """Crossed of all that were put out. [0-1]"""
    out = day.crossed + day.trapped
    return day.crossed / out if out > 0 else 0.0


def _at(series: Series, demand: Demand, day: TraceDay) -> float | None:
    """A day's value of the weather, which begins where the demand does."""
    value = float(series[demand.index(day.date)])
    return None if np.isnan(value) else value


def _made(bits: int) -> str:
    """What was estimated on a day."""
    return " ".join(word for bit, word in MADE.items() if bits & bit)
