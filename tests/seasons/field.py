"""The field on which the real seasons are played, and the years that serve for what.

The soil is that of the trial page of the daily model: loam of field capacity 0.32 and wilting
point 0.15, a drained water table at 1.2 m, planted on 5 May. Nothing of it was fitted here.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache

from rootbound_rules.season.values import DailyWeather, FieldSeason, Soil
from rootbound_rules.water.soil import soil_from_texture
from rootbound_service.replay.yields import Yields, read_yields
from seasons.baselines import ELEVATION_M, LAT, PLANTED, YIELDS, read_weather

NAME = "Ames"
FIELD_CAPACITY, WILTING_POINT = 0.32, 0.15
ORGANIC_MATTER_PCT, TABLE_M = 4.0, 1.2
YIELD_YEARS = tuple(range(1987, 2005))
"""Years with a yield: looked at while the physics was changed."""
LATER_YEARS = tuple(range(2005, 2021))
"""Years without a yield in the data: played only when the changes stood."""
YEARS = YIELD_YEARS + LATER_YEARS
CLASSES = (0, 1, 2, 3)
LATE_DAYS = 2
"""So late measured weather reaches a night: grids of the US come one to three days late. [d]"""


def loam() -> Soil:
    """The loam by its class alone, as the service takes it where nothing else is known."""
    return soil_from_texture("loam", organic_matter_pct=ORGANIC_MATTER_PCT, water_table_m=TABLE_M)


def trial_soil() -> Soil:
    """The soil of the trial."""
    return replace(loam(), field_capacity=FIELD_CAPACITY, wilting_point=WILTING_POINT)


def field(year: int, soil: Soil | None = None) -> FieldSeason:
    """The field in one year.

    Parameters
    ----------
    year
        Of planting.
    soil
        None for the trial's.
    """
    return FieldSeason(LAT, ELEVATION_M, date(year, *PLANTED), soil or trial_soil())


@cache
def weather() -> DailyWeather:
    """The place's days, 1980-2020."""
    return read_weather()


@cache
def yields() -> Yields:
    """Maize yields of Boone County."""
    return read_yields(YIELDS)
