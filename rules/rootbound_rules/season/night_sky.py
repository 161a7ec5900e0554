"""The members' weather of one field, laid out of its cell's days while a night runs.

A cell's days are kept once; each field lays them anew from its own first day on, so that
memory grows with the cells of a chunk, not with its fields.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from rootbound_rules.season.kernel import NWX
from rootbound_rules.season.layout import BLOCK as B
from rootbound_rules.season.layout import Wx

OPTIONS = {"error_model": "numpy", "nogil": True}


@njit(**OPTIONS)
def lay_weather(sky, first, known, begins, coming, trace, skip, members, wx):
    """Lay known days, forecast days and past years, as ``season.pack.pack_weather`` does.

    ``sky`` and ``coming`` have the columns of ``Wx``, heat not summed yet: shapes (days, 4)
    and (traces, days, 4); ``begins`` and ``trace`` are one a member, ``wx`` is written.
    """
    days = wx.shape[1] // (NWX * B)
    last, told = len(sky) - 1, coming.shape[1] - skip
    summed = np.zeros(B, np.float64)
    for b in range(len(wx)):
        summed[:] = 0.0
        for d in range(days):
            foreseen = known <= d < known + told
            at = d * NWX * B
            for j in range(B):
                m = (b * B + j) % members
                if foreseen:
                    day = coming[trace[m], skip + d - known]
                else:
                    day = sky[min(first + d if d < known else begins[m] + d - known, last)]
                summed[j] += day[Wx.GDD]
                wx[b, at + Wx.RAIN * B + j] = day[Wx.RAIN]
                wx[b, at + Wx.ET0 * B + j] = day[Wx.ET0]
                wx[b, at + Wx.CLIMATE * B + j] = day[Wx.CLIMATE]
                wx[b, at + Wx.GDD * B + j] = summed[j]


@njit(**OPTIONS)
def ripe_day(f_maturity, wx, plant, days):
    """First day on which every member has reached black layer; ``days`` if there is none.

    From that day on no stress counts, and no climate enters the coefficients.
    """
    ripe = plant
    first = (plant * NWX + Wx.GDD) * B
    for b in range(len(wx)):
        early, late = ripe, days
        while early < late:
            middle = (early + late) // 2
            at = (middle * NWX + Wx.GDD) * B
            least = np.float32(np.inf)
            for m in range(B):
                least = min(least, wx[b, at + m] - wx[b, first + m])
            early, late = (early, middle) if least >= f_maturity else (middle + 1, late)
        ripe = early
    return ripe


@njit(**OPTIONS)
def heat_since(wx, plant, day, members, into):
    """Heat units since planting of each member by the end of a day; 0 before planting."""
    first, at = (plant * NWX + Wx.GDD) * B, (day * NWX + Wx.GDD) * B
    for m in range(members):
        b, j = m // B, m % B
        into[m] = wx[b, at + j] - wx[b, first + j] if day >= plant else 0.0


@njit(**OPTIONS)
def days_until(wx, plant, target, members, into):
    """Day on which each member reaches a sum of heat units; inf if none does."""
    days = wx.shape[1] // (NWX * B)
    first = (plant * NWX + Wx.GDD) * B
    for m in range(members):
        b, j = m // B, m % B
        early, late = plant, days
        while early < late:
            middle = (early + late) // 2
            reached = wx[b, (middle * NWX + Wx.GDD) * B + j] - wx[b, first + j] >= target
            early, late = (early, middle) if reached else (middle + 1, late)
        into[m] = early if early < days else np.inf
