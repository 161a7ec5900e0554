"""What one season of one field is, as plain values: no database, no clock.

Units are in the names: mm of water, m of depth, cm of half-width, degrees C,
MJ m-2 d-1, m s-1. Heat units are Fahrenheit growing degree days (``gdd_f``).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.errors import RulesError

Series = NDArray[np.float64]

REQUIRED_SERIES = ("tmax_c", "tmin_c", "rain_mm")
OPTIONAL_SERIES = (
    "solar_mj",
    "dewpoint_c",
    "rhmax_pct",
    "rhmin_pct",
    "wind_m_s",
    "et0_mm",
    "irrigation_mm",
)


@dataclass(frozen=True, slots=True, eq=False)
class DailyWeather:
    """Consecutive days of one place's weather; a missing value is NaN.

    Parameters
    ----------
    start
        The day of element 0 of every series.
    tmax_c, tmin_c
        Highest and lowest air temperature of the day, shape (days,). [degC]
    rain_mm
        Rain of the day, shape (days,). [mm]
    solar_mj, dewpoint_c, rhmax_pct, rhmin_pct, wind_m_s, et0_mm, irrigation_mm
        Further series where the source has them, else None. Wind is at 2 m.
        [MJ m-2 d-1, degC, %, %, m s-1, mm, mm]

    Raises
    ------
    RulesError
        If the series differ in length.
    """

    start: date
    tmax_c: Series
    tmin_c: Series
    rain_mm: Series
    solar_mj: Series | None = None
    dewpoint_c: Series | None = None
    rhmax_pct: Series | None = None
    rhmin_pct: Series | None = None
    wind_m_s: Series | None = None
    et0_mm: Series | None = None
    irrigation_mm: Series | None = None

    def __post_init__(self) -> None:
        for name in REQUIRED_SERIES + OPTIONAL_SERIES:
            series = getattr(self, name)
            if series is not None and len(series) != len(self.tmax_c):
                raise RulesError(
                    f"{name} has {len(series)} days, tmax_c has {len(self.tmax_c)}: "
                    "every series must cover the same days"
                )

    def __len__(self) -> int:
        return len(self.tmax_c)

    @property
    def end(self) -> date:
        """The last day of the series."""
        return self.start + timedelta(days=len(self) - 1)

    def known_through(self) -> date | None:
        """The last day that has both temperatures and rain, or None."""
        whole = ~(np.isnan(self.tmax_c) | np.isnan(self.tmin_c) | np.isnan(self.rain_mm))
        if not whole.any():
            return None
        return self.start + timedelta(days=int(np.flatnonzero(whole)[-1]))


@dataclass(frozen=True, slots=True)
class Soil:
    """The soil of one field, as the daily balance needs it.

    Build it with :func:`rootbound_rules.water.soil.soil_from_texture` or
    :func:`rootbound_rules.water.soil.soil_from_numbers`.
    """

    field_capacity: float
    """Water content at field capacity. [m3 m-3]"""
    wilting_point: float
    """Water content at the wilting point. [m3 m-3]"""
    clay_pct: float
    organic_matter_pct: float
    rew_mm: float
    """Readily evaporable water of the top layer, FAO-56 Table 19. [mm]"""
    curve_number: float
    """Average curve number of the field, row crop. [-]"""
    diffusivity_cm2_d: float
    """Mean water diffusivity between field capacity and wilting point. [cm2 d-1]"""
    conductivity_mm_d: float
    """Saturated conductivity. [mm d-1]"""
    pore_index: float
    """Slope of the logarithmic retention curve, Saxton & Rawls lambda. [-]"""
    air_entry_cm: float
    """Air-entry suction. [cm of water]"""
    profile_depth_m: float = 1.5
    water_table_m: float | None = None
    texture: str = ""
    """Name of the texture class, empty when only numbers were given."""


@dataclass(frozen=True, slots=True)
class Dig:
    """What one visit with a spade found."""

    dug_on: date
    wall_class: int
    """Our own scale: 0 crumbles, 1 firm, 2 smeared, 3 hard and shiny."""
    plants: int = 0
    crossing: int | None = None
    """Nodal roots that cross the row, summed over the plants."""
    held: int | None = None
    """Nodal roots held along the row, summed over the plants."""
    pan_class: int = 0
    """0 none, 1 firm, 2 hard, 3 very hard or platy."""
    pan_depth_cm: float | None = None


@dataclass(frozen=True, slots=True)
class FieldSeason:
    """One crop on one field, from planting to black layer."""

    lat: float
    elevation_m: float
    planted: date
    soil: Soil
    crop: str = "maize"
    row_spacing_cm: float = 76.0
    seed_depth_cm: float = 5.0
    black_layer_gdd_f: float | None = None
    """Heat units from planting to black layer, from the seed tag."""
    digs: tuple[Dig, ...] = field(default=())
    start_depletion: float | None = None
    """Depleted share of every store on the first day; None: the default row."""
    late_planting_cut: bool = False
    """Lower the heat units to black layer for late planting (eastern Corn Belt)."""
