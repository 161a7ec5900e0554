"""Made-up but plausible weather, soils, digs and fields, all from a seeded generator."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
from numpy.random import Generator

from rootbound_rules.season.demand import Demand, cell_demand
from rootbound_rules.season.kernel import demand_loop
from rootbound_rules.season.values import DailyWeather, Dig, FieldSeason, Soil
from rootbound_rules.water.soil import soil_from_texture, texture_names

PLANTED = date(2021, 5, 1)
FIRST = PLANTED - timedelta(days=90)
LAT, ELEVATION_M = 42.0, 300.0
DAYS = 290
"""Spin-up and the longest season."""


def weather(
    rng: Generator,
    start: date = FIRST,
    days: int = DAYS,
    wet_share: float | None = None,
    watered: bool = False,
) -> DailyWeather:
    """A humid continental year: a wave of temperature, rain on some days, gamma amounts."""
    doy = np.array([(start + timedelta(days=i)).timetuple().tm_yday for i in range(days)])
    mean = 9.0 + 15.0 * np.cos(2 * np.pi * (doy - 201) / 365.25) + rng.normal(0, 3, days)
    half = rng.uniform(3.5, 8.5, days)
    share = rng.uniform(0.03, 0.6) if wet_share is None else wet_share
    amount = rng.gamma(0.75, rng.uniform(6, 18), days)
    given = np.where(rng.random(days) < 0.05, rng.uniform(10, 40, days), 0.0)
    return DailyWeather(
        start=start,
        tmax_c=mean + half,
        tmin_c=mean - half,
        rain_mm=np.where(rng.random(days) < share, amount, 0.0),
        irrigation_mm=given if watered else None,
    )


def demand(sky: DailyWeather, lat: float = LAT) -> Demand:
    """The same days in the terms of the step; ``test_demand`` holds this loop to the plain one."""
    return cell_demand(sky, lat, ELEVATION_M, loop=demand_loop)


def soil(rng: Generator) -> Soil:
    """Any texture, shallow to deep, one in three over a water table."""
    return soil_from_texture(
        str(rng.choice(texture_names())),
        organic_matter_pct=float(rng.uniform(0.5, 6.0)),
        profile_depth_m=float(rng.uniform(0.3, 1.8)),
        water_table_m=float(rng.uniform(0.5, 2.5)) if rng.random() < 0.33 else None,
    )


def dig(rng: Generator, planted: date = PLANTED) -> Dig:
    """One visit: any wall, a pan in one of two, counts in one of two."""
    pan = int(rng.integers(0, 4)) if rng.random() < 0.5 else 0
    counted = rng.random() < 0.5
    return Dig(
        dug_on=planted + timedelta(days=int(rng.integers(5, 80))),
        wall_class=int(rng.integers(0, 4)),
        plants=5 if counted else 0,
        crossing=int(rng.integers(0, 40)) if counted else None,
        held=int(rng.integers(0, 40)) if counted else None,
        pan_class=pan,
        pan_depth_cm=float(rng.uniform(8, 40)) if pan else None,
    )


def field(rng: Generator, digs: tuple[Dig, ...] | None = None) -> FieldSeason:
    """A field with up to three digs."""
    made = tuple(dig(rng) for _ in range(rng.integers(0, 4))) if digs is None else digs
    return FieldSeason(
        lat=LAT,
        elevation_m=ELEVATION_M,
        planted=PLANTED,
        soil=soil(rng),
        row_spacing_cm=float(rng.choice([38.0, 51.0, 76.0, 97.0])),
        seed_depth_cm=float(rng.uniform(3, 8)),
        black_layer_gdd_f=float(rng.uniform(2300, 2900)),
        digs=made,
        start_depletion=float(rng.uniform(0, 1)) if rng.random() < 0.3 else None,
    )


def rated(wall: int, crossing: int | None = None, held: int | None = None) -> Dig:
    """A dig of one wall class, no pan, soon after planting."""
    return Dig(PLANTED + timedelta(days=20), wall, crossing=crossing, held=held)


def plain_field(kind: str = "silt loam", digs: tuple[Dig, ...] = ()) -> FieldSeason:
    """An ordinary field of one texture."""
    return FieldSeason(LAT, ELEVATION_M, PLANTED, soil_from_texture(kind), digs=digs)
