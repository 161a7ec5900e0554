"""Invented fields with a climb ahead, and the slow way to tell whether a rain holds them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from rootbound_rules.risk.assess import readings_on
from rootbound_rules.risk.ladder import raw_rung
from rootbound_rules.season.layout import BLOCK, Out, Wx
from rootbound_rules.season.outlook import look_out
from rules.season import plausible

BEGIN, END = date(2001, 1, 1), date(2021, 12, 31)
CELLS = 6
NIGHTS = 7


@cache
def cell(number):
    """Twenty past years and the season's own, from dry to wet."""
    rng = np.random.default_rng([61, number])
    days = (END - BEGIN).days + 1
    return plausible.demand(plausible.weather(rng, BEGIN, days, 0.12 + 0.05 * number))


def random_case(seed):
    """An outlook of a random field on a random night, that night, and its rung by itself."""
    rng = np.random.default_rng([62, seed])
    digs = tuple(plausible.dig(rng) for _ in range(rng.integers(1, 3)))
    season = plausible.field(rng, digs=digs)
    known = plausible.PLANTED + timedelta(days=int(rng.integers(30, 100)))
    outlook = look_out(season, cell(int(rng.integers(CELLS))), known, seed)
    today = known + timedelta(days=1)
    return outlook, today, rung_of(outlook, today)


def rung_of(outlook, day):
    """The held twin's rung on a night, by its own reading."""
    return raw_rung(readings_on(outlook, day)[0])[0]


def with_water(outlook, day, mm, *, irrigation=False):
    """The whole season run again with more rain (or water given) on one day of every member."""
    run, at = outlook.run, outlook.day(day)
    weather, given = run.weather.copy(), run.irrigation.copy()
    if irrigation:
        given[at] += np.float32(mm)
    else:
        weather.reshape(-1, run.days, len(Wx), BLOCK)[:, at, Wx.RAIN] += np.float32(mm)
    cube = replace(run, weather=weather, irrigation=given).play()
    return replace(
        outlook, held_stress=cube[:, Out.HELD_STRESS], free_stress=cube[:, Out.FREE_STRESS]
    )


def climbs(outlook, today, rung, nights=range(1, NIGHTS + 1)):
    """Tell whether any of the coming nights reads above ``rung``."""
    return any(rung_of(outlook, today + timedelta(days=n)) > rung for n in nights)
