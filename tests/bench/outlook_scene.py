"""Invented fields for the bench of a night: cells from wet to dry, hybrids, digs of all kinds.

Four fields in ten have nothing that holds their roots (no dig yet, or class 0), the others
a wall of class 1, 2 or 3; one in five has a pan, one in three counted roots. Tonight is 40 to
90 days after planting.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache

import numpy as np

from loopback.climate import ClimatePlay
from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.layout import BLOCK
from rootbound_rules.season.pack_many import Case
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason
from rootbound_rules.water.soil import soil_from_texture

PLANTED = date(2024, 5, 1)
YEARS = tuple(range(2023, 2023 - BLOCK, -1))
SOILS = ("loam", "silty clay loam", "sandy loam", "silt loam", "clay loam")
HYBRIDS = (2450.0, 2700.0, 2850.0)
NIGHTS_AFTER = (40, 55, 70, 90)
CLIMATES, FIELDS_A_CELL = 8, 20


def season_of(i: int) -> FieldSeason:
    """One field."""
    rng = np.random.default_rng([71, i])
    wall = int(rng.choice([-1, 0, 1, 2, 3], p=[0.2, 0.2, 0.25, 0.2, 0.15]))
    counts = {"crossing": 14, "held": 22, "plants": 5} if rng.random() < 0.33 and wall > 0 else {}
    pan = {"pan_class": 2, "pan_depth_cm": 18.0} if rng.random() < 0.2 and wall > 0 else {}
    digs = () if wall < 0 else (Dig(PLANTED + timedelta(days=28), wall, **counts, **pan),)
    table = 1.4 if rng.random() < 0.4 else None
    soil = soil_from_texture(str(rng.choice(SOILS)), water_table_m=table)
    planted = PLANTED + timedelta(days=int(rng.integers(20)))
    return FieldSeason(
        42.0, 300.0, planted, soil, digs=digs, black_layer_gdd_f=float(rng.choice(HYBRIDS))
    )


@cache
def demand_of(seed: int) -> Demand:
    """The days of one climate, as many past years as members and this one."""
    begin, end = date(YEARS[-1] - 1, 1, 1), date(PLANTED.year, 12, 31)
    days = ClimatePlay({}, seed=seed)(42.0, -93.75, begin, end)
    return cell_demand(DailyWeather(begin, **days), 42.0, 300.0)


def cases(number: int, fields: int) -> tuple[list[Case], date]:
    """One chunk, neighbours beside each other, and its night."""
    night = PLANTED + timedelta(days=NIGHTS_AFTER[number % len(NIGHTS_AFTER)])
    rng, made = np.random.default_rng([72, number]), list[Case]()
    for i in range(fields):
        if i % FIELDS_A_CELL == 0:
            demand = demand_of(int(rng.integers(CLIMATES)))
            demand = replace(demand, rain_mm=demand.rain_mm * rng.uniform(0.5, 1.5))
        seed = number * fields + i
        made.append(Case(season_of(seed), demand, night - timedelta(days=1), seed, YEARS))
    return made, night
