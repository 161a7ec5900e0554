"""Invented fields for the bench of a night: cells from wet to dry, hybrids, digs of all kinds.

Four fields in ten have nothing that holds their roots (no dig yet, or class 0), the others
a wall of class 1, 2 or 3; one in five has a pan, one in three counted roots. A field's
season begins 90 days before planting; tonight is 40 to 90 days after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

import numpy as np

from loopback.climate import ClimatePlay
from rootbound_rules.risk.hold_need import members_needed
from rootbound_rules.risk.ladder import Reading
from rootbound_rules.risk.windows import windows
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.layout import BLOCK, Wx
from rootbound_rules.season.members import draw_members, sobol_points
from rootbound_rules.season.pack import pack_field, pack_weather
from rootbound_rules.season.plan import is_held, make_plan, plan_digs
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.tables import load_table
from rootbound_rules.water.soil import soil_from_texture

PLANTED = date(2024, 5, 1)
YEARS = list(range(2023, 2023 - BLOCK, -1))
SOILS = ("loam", "silty clay loam", "sandy loam", "silt loam", "clay loam")
HYBRIDS = (2450.0, 2700.0, 2850.0)
NIGHTS_AFTER = (40, 55, 70, 90)
CLIMATES, KINDS, FIELDS_A_CELL = 8, 180, 100


@dataclass(frozen=True)
class Kind:
    """One field packed, with what its gates are worked out from."""

    season: FieldSeason
    packed: object
    held: bool
    plan: object


def make_kind(i: int) -> Kind:
    """One of the fields that the bench repeats, each with draws of its own."""
    rng = np.random.default_rng([71, i])
    wall = int(rng.choice([-1, 0, 1, 2, 3], p=[0.2, 0.2, 0.25, 0.2, 0.15]))
    counts = {"crossing": 14, "held": 22, "plants": 5} if rng.random() < 0.33 and wall > 0 else {}
    pan = {"pan_class": 2, "pan_depth_cm": 18.0} if rng.random() < 0.2 and wall > 0 else {}
    digs = () if wall < 0 else (Dig(PLANTED + timedelta(days=28), wall, **counts, **pan),)
    table = 1.4 if rng.random() < 0.4 else None
    soil = soil_from_texture(str(rng.choice(SOILS)), water_table_m=table)
    season = FieldSeason(
        42.0, 300.0, PLANTED, soil, digs=digs, black_layer_gdd_f=float(rng.choice(HYBRIDS))
    )
    return pack_kind(season, i)


def pack_kind(season: FieldSeason, seed: int) -> Kind:
    """Pack one field as the nights do."""
    plan, points = make_plan(season), sobol_points(BLOCK, seed)
    packed = pack_field(season, plan, draw_members(season.soil, points), points[:, 6])
    return Kind(season, packed, is_held(plan_digs(season, plan.first), plan.class0), plan)


@cache
def demand_of(seed: int) -> Demand:
    """The days of one climate, as many past years as members and this one."""
    begin, end = date(YEARS[-1] - 1, 1, 1), date(PLANTED.year, 12, 31)
    days = ClimatePlay({}, seed=seed)(42.0, -93.75, begin, end)
    return cell_demand(DailyWeather(begin, **days), 42.0, 300.0)


class OutlookScene:
    """Makes chunks of fields; what they repeat is made once."""

    def __init__(self) -> None:
        self.kinds = [make_kind(i) for i in range(KINDS)]
        plan = self.kinds[0].plan
        self.plant = plan.plant_day
        self.days = plan.plant_day + int(load_table("season").number("longest_days"))
        self.skies = {
            after: [self._sky(i, plan, after) for i in range(CLIMATES)] for after in NIGHTS_AFTER
        }
        self.table = np.stack([members_needed(_night_kind(g), BLOCK) for g in range(8)])
        self.spans, self.marks = windows()

    def _sky(self, i: int, plan, after: int):
        """One cell's members: the season so far, then a past year each."""
        known = plan.planted + timedelta(days=after - 1)
        return pack_weather(demand_of(i), plan, known, self.days, YEARS)

    def chunk(self, number: int, fields: int):
        """Arrays of one chunk, as ``season.night`` takes them; one night of the season a chunk."""
        rng = np.random.default_rng([72, number])
        after = NIGHTS_AFTER[number % len(NIGHTS_AFTER)]
        cells = max(fields // FIELDS_A_CELL, 1)
        weather = np.stack([self.skies[after][k] for k in rng.integers(CLIMATES, size=cells)])
        rows = weather.reshape(cells, 1, self.days, len(Wx), BLOCK)
        rows[:, :, :, Wx.RAIN] *= rng.uniform(0.5, 1.5, cells).astype(np.float32)[
            :, None, None, None
        ]
        pick = rng.integers(KINDS, size=fields)
        cell = np.sort(rng.integers(cells, size=fields))
        packed = [kind.packed for kind in self.kinds]
        today = self.plant + after
        return {
            "fields": np.stack([p.field for p in packed])[pick],
            "params": np.stack([p.params for p in packed])[pick],
            "digs": np.stack([p.digs for p in packed])[pick],
            "counts": np.stack([p.counts for p in packed])[pick],
            "cells": cell,
            "weather": weather,
            "irrigation": np.zeros((1, self.days), np.float32),
            "plant": np.full(fields, self.plant),
            "held": np.array([kind.held for kind in self.kinds])[pick],
            "today": np.full(fields, today),
            "before": rng.choice(3, size=fields, p=[0.7, 0.2, 0.1]),
            "gates": self._gates(rows, today)[cell, pick],
        }

    def _gates(self, rows, today: int):
        """Which kind of night each coming one is, for every cell and kind of field."""
        ladder = load_table("ladder")
        heat = rows[:, 0, :, Wx.GDD] - rows[:, 0, self.plant, None, Wx.GDD]
        nights = np.arange(int(load_table("hold").number("nights")) + 1) + today
        middle = np.median(heat[:, nights - 1], axis=2)
        gates = np.zeros((len(rows), KINDS, len(nights)), np.int64)
        for total in HYBRIDS:
            mine = [
                k for k, kind in enumerate(self.kinds) if kind.season.black_layer_gdd_f == total
            ]
            stages = self.kinds[mine[0]].plan.stages
            silk = np.median((heat >= stages.silk).argmax(axis=1), axis=1)[:, None] - nights
            collars = np.vectorize(stages.collars)(middle)
            near = (silk <= ladder.number("critical.days_before_silk")) & (
                silk >= -ladder.number("critical.days_after_silk")
            )
            grown = collars >= ladder.number("short.from_collar")
            failing = (collars >= ladder.number("failing.from_collar")) & (middle < stages.r5)
            gates[:, mine] = (grown + 2 * failing + 4 * near)[:, None]
        return gates


def _night_kind(gate: int) -> Reading:
    """A reading of one kind of night: old enough for rung 3, for 4, in the critical window."""
    collars = 20.0 if gate & 3 == 3 or gate & 1 else 5.0
    return Reading(0.0, 0.0, 0.0, 0.0, collars, past_r4=not gate & 2, critical=bool(gate & 4))
