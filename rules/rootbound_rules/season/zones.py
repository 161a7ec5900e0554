"""The root zones of a block of members: the free twin, the held twin."""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.numeric import power
from rootbound_rules.season.compiled import offer_equations
from rootbound_rules.season.crop_day import counted_stress, held_reach
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import F, Out, P, S
from rootbound_rules.season.step import water_in_reach, zone_day
from rootbound_rules.water.rootzone import depletion_fraction
from rootbound_rules.water.water_table import deepest_root

offer_equations()
FAR_TABLE_M = 100.0
"""Deeper than this no root comes near a water table. [m]"""
OPTIONS = {"fastmath": True, "error_model": "numpy", "nogil": True}
INLINE = {"fastmath": True, "error_model": "numpy", "forceinline": True}


@njit(**OPTIONS)
def table_kind(f):
    """How a field's water table rises: 0 too deep, 1 at its most wherever it rises, 2 by distance.

    The power of the distance is what costs in the members' loop; most tables need none.
    """
    if f[F.TABLE] > FAR_TABLE_M:
        return 0
    slowest = f[F.RISE_FACTOR] * power(f[F.RISE_FARTHEST], -f[F.RISE_EXPONENT])
    return 1 if slowest >= f[F.RISE_MOST] else 2


@njit(**OPTIONS)
def free_zone(s, f, p, out, kind):
    """The free twin's root zone; ``kind`` from :func:`table_kind`."""
    none, most = np.float32(0), f[F.RISE_MOST]
    if kind == 0:
        for m in range(B):
            _free_member(s, f, p, out, m, none, none, none)
    elif kind == 1:
        for m in range(B):
            _free_member(s, f, p, out, m, most, none, most)
    else:
        factor, exponent = f[F.RISE_FACTOR], f[F.RISE_EXPONENT]
        for m in range(B):
            _free_member(s, f, p, out, m, factor, exponent, most)


@njit(**OPTIONS)
def held_zone(s, f, p, out, kind):
    """The held twin's root zone; ``kind`` from :func:`table_kind`."""
    none, most = np.float32(0), f[F.RISE_MOST]
    if kind == 0:
        for m in range(B):
            _held_member(s, f, p, out, m, none, none, none)
    elif kind == 1:
        for m in range(B):
            _held_member(s, f, p, out, m, most, none, most)
    else:
        factor, exponent = f[F.RISE_FACTOR], f[F.RISE_EXPONENT]
        for m in range(B):
            _held_member(s, f, p, out, m, factor, exponent, most)


@njit(**INLINE)
def _free_member(s, f, p, out, m, factor, exponent, most):
    """One member of the free twin: reach is 1, nothing lies beyond it."""
    one, none = np.float32(1), np.float32(0)
    available = p[P.AVAILABLE * B + m]
    depth, within, _, below, table, ks, _, _, _, _, _ = zone_day(
        s[S.F_DEPTH * B + m],
        s[S.STEP * B + m],
        f[F.PROFILE],
        one,
        one,
        s[S.F_WITHIN * B + m],
        none,
        s[S.F_BELOW * B + m],
        s[S.F_TABLE * B + m],
        s[S.INFILTRATION * B + m],
        s[S.EVAPORATION * B + m],
        s[S.DEMAND * B + m],
        f[F.TABLE_P],
        available,
        p[P.DIFFUSIVITY * B + m],
        f[F.HALF_ROW],
        factor,
        exponent,
        most,
        f[F.RISE_FARTHEST],
        f[F.YIELD_],
        f[F.TABLE],
        f[F.TABLE_LEFT],
    )
    s[S.F_DEPTH * B + m] = depth
    s[S.F_WITHIN * B + m] = within
    s[S.F_BELOW * B + m] = below
    s[S.F_TABLE * B + m] = table
    collar, gdd = s[S.COLLAR * B + m], s[S.ALIVE * B + m]
    lost = counted_stress(ks, collar, f[F.STRESS_FROM], gdd, f[F.KC_LATE_START], f[F.MATURITY])
    out[Out.FREE_STRESS * B + m] = lost
    share = depletion_fraction(f[F.TABLE_P], s[S.USE * B + m])
    out[Out.FREE_WATER * B + m] = water_in_reach(one, within, available * depth, share)


@njit(**INLINE)
def _held_member(s, f, p, out, m, factor, exponent, most):
    """One member of the held twin."""
    available = p[P.AVAILABLE * B + m]
    before = s[S.H_REACH * B + m]
    limit = deepest_root(f[F.PROFILE], s[S.H_TABLE * B + m])
    deeper = max(min(s[S.H_DEPTH * B + m] + s[S.STEP * B + m], limit), s[S.H_DEPTH * B + m])
    now = held_reach(
        s[S.COLLAR * B + m],
        p[P.SLOT * B + m],
        f[F.HALF_ROW],
        f[F.WIDTH_BEGIN],
        f[F.WIDTH_END],
        p[P.WIDENING * B + m],
        deeper,
        f[F.SEED_DEPTH],
        s[S.CROSSED * B + m],
        s[S.TRAPPED * B + m],
    )
    depth, within, beyond, below, table, ks, _, _, _, _, _ = zone_day(
        s[S.H_DEPTH * B + m],
        s[S.STEP * B + m],
        f[F.PROFILE],
        before,
        now,
        s[S.H_WITHIN * B + m],
        s[S.H_BEYOND * B + m],
        s[S.H_BELOW * B + m],
        s[S.H_TABLE * B + m],
        s[S.INFILTRATION * B + m],
        s[S.EVAPORATION * B + m],
        s[S.DEMAND * B + m],
        f[F.TABLE_P],
        available,
        p[P.DIFFUSIVITY * B + m],
        f[F.HALF_ROW],
        factor,
        exponent,
        most,
        f[F.RISE_FARTHEST],
        f[F.YIELD_],
        f[F.TABLE],
        f[F.TABLE_LEFT],
    )
    s[S.H_DEPTH * B + m] = depth
    s[S.H_WITHIN * B + m] = within
    s[S.H_BEYOND * B + m] = beyond
    s[S.H_BELOW * B + m] = below
    s[S.H_TABLE * B + m] = table
    s[S.H_REACH * B + m] = now
    collar, gdd = s[S.COLLAR * B + m], s[S.ALIVE * B + m]
    lost = counted_stress(ks, collar, f[F.STRESS_FROM], gdd, f[F.KC_LATE_START], f[F.MATURITY])
    out[Out.HELD_STRESS * B + m] = lost
    share = depletion_fraction(f[F.TABLE_P], s[S.USE * B + m])
    out[Out.HELD_WATER * B + m] = water_in_reach(now, within, available * depth, share)
    out[Out.REACH * B + m] = now


@njit(**OPTIONS)
def copy_free(out):
    """Nothing holds the roots: the held twin is the free twin, to the last digit."""
    for m in range(B):
        out[Out.HELD_STRESS * B + m] = out[Out.FREE_STRESS * B + m]
        out[Out.HELD_WATER * B + m] = out[Out.FREE_WATER * B + m]
        out[Out.REACH * B + m] = 1


@njit(**OPTIONS)
def part(s):
    """The held twin starts from where the free twin stands."""
    for m in range(B):
        s[S.H_DEPTH * B + m] = s[S.F_DEPTH * B + m]
        s[S.H_WITHIN * B + m] = s[S.F_WITHIN * B + m]
        s[S.H_BEYOND * B + m] = s[S.F_WITHIN * B + m]
        s[S.H_BELOW * B + m] = s[S.F_BELOW * B + m]
        s[S.H_TABLE * B + m] = s[S.F_TABLE * B + m]
        s[S.H_REACH * B + m] = 1
