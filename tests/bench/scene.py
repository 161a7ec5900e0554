"""Invented fields and weather for the bench: 20,000 fields on 200 cells, 32 members, 120 days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from loopback.climate import ClimatePlay
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.layout import BLOCK
from rootbound_rules.season.members import draw_members, sobol_points
from rootbound_rules.season.pack import pack_field, pack_weather
from rootbound_rules.season.plan import is_held, make_plan, plan_digs
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture

FIRST, PLANTED = date(2024, 5, 5), date(2024, 5, 5)
YEARS = list(range(1990, 1990 + BLOCK))
CLIMATES, SOILS = 8, ("loam", "silty clay loam", "sandy loam", "silt loam")


@dataclass(frozen=True)
class Scene:
    """Arrays as ``season.sweep`` takes them, and the parts they came from."""

    arrays: dict[str, np.ndarray]
    demands: list[Demand]
    seasons: list[FieldSeason]


def scene(fields: int, cells: int, days: int) -> Scene:
    """Make the arrays; a few climates and soils repeat, as they would in one region."""
    demands = [_climate(i) for i in range(min(CLIMATES, cells))]
    plan = make_plan(_season(0), FIRST)
    blocks = [pack_weather(d, plan, plan.first, days, YEARS) for d in demands]
    weather = np.stack([blocks[i % len(blocks)] for i in range(cells)])
    kinds = [_season(i) for i in range(24)]
    packed = [_pack(kind, i) for i, kind in enumerate(kinds)]
    pick = np.arange(fields) % len(kinds)
    digs = max(p.digs.shape[0] for p in packed)
    arrays = {
        "fields": np.stack([p.field for p in packed])[pick],
        "params": np.stack([p.params for p in packed])[pick],
        "digs": np.stack([np.resize(p.digs, (digs, p.digs.shape[1])) for p in packed])[pick],
        "counts": np.stack([p.counts for p in packed])[pick],
        "cells": np.sort(np.arange(fields) % cells),
        "weather": weather,
        "irrigation": np.zeros((1, days), np.float32),
        "plant": np.zeros(fields, np.int64),
        "held": np.array([_held(kind) for kind in kinds])[pick],
        "today": np.full(fields, days // 2),
    }
    return Scene(arrays, demands, kinds)


def _climate(seed: int) -> Demand:
    play = ClimatePlay({}, seed=seed)
    days = play(42.0, -93.75, date(1989, 1, 1), date(2024, 12, 31))
    return cell_demand(DailyWeather(date(1989, 1, 1), **days), 42.0, 300.0)


def _season(i: int) -> FieldSeason:
    table = 1.2 if i % 2 else None
    soil = soil_from_texture(SOILS[i % len(SOILS)], water_table_m=table)
    counts = {"crossing": 20, "held": 30, "plants": 5} if i % 3 == 0 else {}
    dig = Dig(date(2024, 6, 1), 1 + i % 3, **counts)
    return FieldSeason(42.0, 300.0, PLANTED, soil, digs=(dig,))


def _pack(season: FieldSeason, seed: int):
    points = sobol_points(BLOCK, seed)
    return pack_field(
        season, make_plan(season, FIRST), draw_members(season.soil, points), points[:, 6]
    )


def _held(season: FieldSeason) -> bool:
    plan = make_plan(season, FIRST)
    return is_held(plan_digs(season, plan.first), plan.class0)
