"""The day of a block of members, phase by phase: plant, top layer, wall, pan.

Each phase is one loop over the 32 members, which the compiler turns into vector
instructions; rows of a block lie at fixed distances (``season.layout``).
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.compiled import offer_equations
from rootbound_rules.season.crop_day import canopy_day, counted_share, growth_day, step_at_pan
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import F, P, S, Wx
from rootbound_rules.season.step import recent_use, wall_day
from rootbound_rules.season.surface import open_soil, wet_and_dry
from rootbound_rules.water.coefficients import adjusted, height_factor

offer_equations()
OPTIONS = {"fastmath": True, "error_model": "numpy", "nogil": True}
INLINE = {"fastmath": True, "error_model": "numpy", "forceinline": True}
NWX = len(Wx)


@njit(**OPTIONS)
def start(s, f, p):
    """Put a block at its first day: bare soil, every store equally depleted."""
    share, depth = f[F.START_DEPLETION], f[F.START_DEPTH]
    dry = max(min(f[F.PROFILE], f[F.TABLE]) - depth, np.float32(0))
    for m in range(B):
        available = p[P.AVAILABLE * B + m]
        s[S.DE * B + m] = share * f[F.TEW]
        s[S.CROSSED * B + m] = s[S.TRAPPED * B + m] = s[S.OUT * B + m] = s[S.USE * B + m] = 0
        s[S.F_DEPTH * B + m] = depth
        s[S.F_WITHIN * B + m] = share * available * depth
        s[S.F_BELOW * B + m] = share * available * dry
        s[S.F_TABLE * B + m] = f[F.TABLE]


@njit(**OPTIONS)
def climate_of_season(s, f, p, wx, plant, days):
    """Mid and end coefficients in the climate of each member's own season (Eq. 70)."""
    mid_sum = np.zeros(B, np.float32)
    mid_days = np.zeros(B, np.float32)
    end_sum = np.zeros(B, np.float32)
    end_days = np.zeros(B, np.float32)
    one, none = np.float32(1), np.float32(0)
    first = (plant * NWX + Wx.GDD) * B
    heat = wx[first : first + B]
    for d in range(plant, days):
        sky = wx[d * NWX * B : (d + 1) * NWX * B]
        for m in range(B):
            gdd = sky[Wx.GDD * B + m] - heat[m]
            climate = sky[Wx.CLIMATE * B + m]
            mid = one if (gdd >= f[F.KC_MID_START]) & (gdd < f[F.KC_LATE_START]) else none
            end = one if (gdd >= f[F.KC_LATE_START]) & (gdd < f[F.MATURITY]) else none
            mid_sum[m] += mid * climate
            mid_days[m] += mid
            end_sum[m] += end * climate
            end_days[m] += end
    factor = height_factor(f[F.HEIGHT])
    for m in range(B):
        mid = mid_sum[m] / max(mid_days[m], one)
        end = end_sum[m] / max(end_days[m], one)
        s[S.KCB_MID * B + m] = adjusted(p[P.KCB_MID * B + m], mid, factor)
        s[S.KCB_END * B + m] = adjusted(f[F.KCB_END], end, factor)


@njit(**INLINE)
def _factor(f, height):
    """Height factor of a growing crop, by the field's polynomial."""
    t = (height - f[F.FIT_MIDDLE]) * f[F.FIT_SCALE]
    high = ((f[F.FIT_7] * t + f[F.FIT_6]) * t + f[F.FIT_5]) * t + f[F.FIT_4]
    return (((high * t + f[F.FIT_3]) * t + f[F.FIT_2]) * t + f[F.FIT_1]) * t + f[F.FIT_0]


@njit(**OPTIONS)
def canopy(s, f, wx, heat, planted):
    """Canopy of the day, which no rain changes."""
    bare = height_factor(np.float32(0))
    for m in range(B):
        gdd = planted * (wx[Wx.GDD * B + m] - heat[m])
        kcb, height = canopy_day(
            gdd,
            planted,
            f[F.KC_INITIAL_END],
            f[F.KC_MID_START],
            f[F.KC_LATE_START],
            f[F.MATURITY],
            f[F.KCB_INITIAL],
            s[S.KCB_MID * B + m],
            s[S.KCB_END * B + m],
            f[F.HEIGHT],
        )
        factor = _factor(f, height) if planted > 0 else bare
        kcmax, few = open_soil(kcb, f[F.KC_MIN], wx[Wx.CLIMATE * B + m], height, factor)
        s[S.KCB * B + m] = kcb
        s[S.KC_MAX * B + m] = kcmax
        s[S.FEW * B + m] = few
        s[S.ALIVE * B + m] = gdd


@njit(**OPTIONS)
def surface(s, f, wx, irrigation, more):
    """Top layer of the day; ``more`` is rain beyond the weather's."""
    for m in range(B):
        et0, kcb = wx[Wx.ET0 * B + m], s[S.KCB * B + m]
        top, infiltration, ke, _ = wet_and_dry(
            s[S.DE * B + m],
            wx[Wx.RAIN * B + m] + more,
            irrigation,
            et0,
            kcb,
            s[S.KC_MAX * B + m],
            s[S.FEW * B + m],
            f[F.TEW],
            f[F.REW],
            f[F.DRY_CN],
            f[F.WET_CN],
        )
        s[S.TOP * B + m] = top
        s[S.INFILTRATION * B + m] = infiltration
        s[S.EVAPORATION * B + m] = ke * et0
        s[S.DEMAND * B + m] = kcb * et0
        s[S.USE * B + m] = recent_use(s[S.USE * B + m], ke * et0 + kcb * et0, f[F.RECENT])


@njit(**OPTIONS)
def grow(s, f, planted):
    """Collars, deepening, axes of the day; more than 0 while any member's axes meet the wall."""
    growing = np.float32(0)
    for m in range(B):
        collar, step, axes, on = growth_day(
            s[S.ALIVE * B + m],
            planted,
            f[F.EMERGENCE],
            f[F.COLLAR_EARLY],
            f[F.COLLAR_LATE],
            f[F.COLLAR_TURN],
            f[F.COLLAR_LAST],
            f[F.FRONT_EARLY],
            f[F.FRONT_LATE],
            f[F.FRONT_TURN],
            f[F.FRONT_LAST],
            f[F.AXES_FIRST],
            f[F.AXES_SECOND],
            f[F.AXES_MOST],
            f[F.AXES_LAST],
            f[F.AXES_SHARE_SECOND],
            f[F.AXES_SHARE_MOST],
        )
        s[S.COLLAR * B + m] = collar
        s[S.STEP * B + m] = step
        s[S.PUT_OUT * B + m] = axes - s[S.OUT * B + m]
        s[S.OUT * B + m] = axes
        s[S.LATE_ON * B + m] = on
        growing += on + s[S.PUT_OUT * B + m]
    return growing


@njit(**OPTIONS)
def cross_wall(s, f, p, wall):
    """Axes put out today cross the wall or are trapped."""
    for m in range(B):
        crossed, trapped = wall_day(
            s[S.DE * B + m],
            f[F.TEW],
            f[F.WILTING_SHARE],
            p[P.DRYING * B + m],
            s[S.CROSSED * B + m],
            s[S.TRAPPED * B + m],
            s[S.PUT_OUT * B + m],
            wall,
            f[F.CLASS0],
            p[P.HALVING * B + m],
            p[P.LATE_RATE * B + m] * s[S.LATE_ON * B + m],
        )
        s[S.CROSSED * B + m] = crossed
        s[S.TRAPPED * B + m] = trapped


@njit(**OPTIONS)
def meet_pan(s, f, p, pan, pan_depth, leak):
    """Deepening of held roots at a pan, left in the scratch row of the step."""
    for m in range(B):
        depth = s[S.H_DEPTH * B + m]
        s[S.STEP * B + m] = step_at_pan(
            s[S.STEP * B + m],
            depth,
            pan_depth,
            leak,
            pan,
            p[P.HALVING * B + m],
            s[S.H_WITHIN * B + m],
            p[P.AVAILABLE * B + m] * depth,
            f[F.WILTING_SHARE],
            p[P.DRYING * B + m],
        )


@njit(**OPTIONS)
def count_roots(s, counts, k):
    """A dig that counted roots sets the share that crossed."""
    for m in range(B):
        crossed, trapped = counted_share(
            s[S.CROSSED * B + m], s[S.TRAPPED * B + m], counts[k * B + m]
        )
        s[S.CROSSED * B + m] = crossed
        s[S.TRAPPED * B + m] = trapped
