"""What the plant does on a day, before any water moves."""

from __future__ import annotations

from rootbound_rules.crop.roots import free_half_width, front_rate, reach, slab_half_width
from rootbound_rules.crop.stages import axes_out, collars
from rootbound_rules.crop.wall import elongation, relative_strength
from rootbound_rules.equation import equation
from rootbound_rules.numeric import clip
from rootbound_rules.water.coefficients import canopy_height, kcb_curve


@equation
def canopy_day(
    gdd: float,
    planted: float,
    initial_end: float,
    mid_start: float,
    late_start: float,
    maturity: float,
    kcb_initial: float,
    kcb_mid: float,
    kcb_end: float,
    tallest: float,
) -> tuple[float, float]:
    """Basal coefficient and height of the crop; both as of bare soil before planting.

    ``planted`` is 1 from planting on, else 0. Heat units are summed since planting.

    Returns
    -------
    tuple of float
        ``Kcb`` [-] and height [m].
    """
    kcb = kcb_curve(
        gdd, initial_end, mid_start, late_start, maturity, kcb_initial, kcb_mid, kcb_end
    )
    rise = clip((gdd - initial_end) / (mid_start - initial_end), 0.0, 1.0)
    share = (kcb_initial + rise * (kcb_mid - kcb_initial)) / kcb_mid
    return planted * kcb, planted * canopy_height(share, tallest)


@equation
def growth_day(
    gdd: float,
    planted: float,
    emergence: float,
    collar_early: float,
    collar_late: float,
    collar_turn: float,
    collar_last: float,
    front_early: float,
    front_late: float,
    front_turn: float,
    front_last: float,
    axes_first: float,
    axes_second: float,
    axes_most: float,
    axes_last: float,
    share_second: float,
    share_most: float,
) -> tuple[float, float, float, float]:
    """Collars, deepening of free roots, axes put out so far, and whether axes still cross.

    Returns
    -------
    tuple of float
        Collars [-], deepening of the day [m], cumulative share of axes [0-1], and 1 between
        the first and the last whorl, else 0.
    """
    up = planted if gdd >= emergence else 0.0 * planted
    shown = up * collars(gdd, emergence, collar_early, collar_late, collar_turn, collar_last)
    step = front_rate(shown, front_early, front_late, front_turn, front_last, up)
    axes = axes_out(shown, axes_first, axes_second, axes_most, axes_last, share_second, share_most)
    growing = up if shown <= axes_last else 0.0 * up
    return shown, step, axes, growing


@equation
def held_reach(
    collar: float,
    slot: float,
    half_row: float,
    width_begin: float,
    width_end: float,
    widening: float,
    depth: float,
    seed_depth: float,
    crossed: float,
    trapped: float,
) -> float:
    """Reach of the held roots at today's collar and depth. [0-1]"""
    free = free_half_width(collar, slot, half_row, width_begin, width_end)
    slab = slab_half_width(free, slot, widening, depth, seed_depth)
    out = crossed + trapped
    share = crossed / max(out, 1e-6) if trapped > 0.0 else 1.0 + 0.0 * out
    return reach(free, slab, share)


@equation
def step_at_pan(
    step: float,
    depth: float,
    pan_depth: float,
    leak: float,
    pan_mpa: float,
    halving: float,
    within: float,
    taw: float,
    wilting_share: float,
    exponent: float,
) -> float:
    """Deepening of roots that meet a pan, as depth of soil that still counts. [m]

    Above the pan roots deepen freely and rest on it for a day; below it the rate falls with
    the pan's resistance in today's water, and only the share ``leak`` of the soil counts.
    """
    water = clip(1.0 - within / taw, 0.0, 1.0)
    strength = relative_strength(water, wilting_share, exponent)
    below = step * leak * elongation(strength * pan_mpa, halving)
    above = min(step, max(pan_depth - depth, 0.0))
    return above if depth < pan_depth else below


@equation
def counted_share(crossed: float, trapped: float, counted: float) -> tuple[float, float]:
    """Crossed and trapped axes after a dig that counted them: the share becomes ``counted``."""
    out = crossed + trapped
    return counted * out, (1.0 - counted) * out


@equation
def counted_stress(
    ks: float, collar: float, from_collar: float, gdd: float, dent: float, maturity: float
) -> float:
    """Stress-day equivalent of the day: ``1 - Ks`` from ``from_collar`` to black layer. [d]

    From ``dent`` on it counts by the heat units that are left: there is less and less grain
    to lose.
    """
    during = 1.0 - ks if collar >= from_collar else 0.0 * ks
    return during * clip((maturity - gdd) / (maturity - dent), 0.0, 1.0)
