"""Three published exponents of soil strength on water, and what their spread does to a season.

Strength rises as water falls by a power. The model takes its exponent from da Silva & Kay
1997. Whalley et al. 2007 and Silva et al. 2008 give other ones for the same soil.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from statistics import fmean, median

from rootbound_rules.crop.wall import drying_exponent
from rootbound_rules.season.trace import trace_season
from rootbound_rules.season.values import Dig, FieldSeason, Soil
from rootbound_rules.tables import load_table
from rootbound_rules.water.retention import retention_slope
from rootbound_rules.water.soil import soil_from_texture
from seasons.sensor_days import iowa_weather

TEXTURES = ("sandy loam", "loam", "silt loam", "clay loam", "silty clay loam")
FACTORS = (1.0, 0.7, 0.5)
"""Times the exponent of da Silva & Kay; the others lie between the last and the first."""
CLASSES = (1, 2, 3)
YEARS = range(1981, 2021, 2)
LAT, ELEVATION_M, TABLE_M = 42.02, 315.0, 1.2
DENSITY = 1.4
"""Of a soil neither loose nor packed. [g cm-3]"""
PLANTED, DUG = (5, 5), (5, 28)


@dataclass(frozen=True, slots=True)
class Exponents:
    """Three exponents for one soil. [-]"""

    texture: str
    dasilva_kay: float
    whalley: float
    silva: float
    share: float
    """Wilting point over field capacity, Saxton & Rawls 2006."""
    own_share: float
    """The same by the retention curve that da Silva & Kay fitted with their exponent."""

    def rise(self, exponent: float) -> float:
        """Strength at the wilting point over that at field capacity. [-]"""
        return float(self.share**exponent)

    @property
    def factors(self) -> tuple[float, float]:
        """The other two over da Silva & Kay's. [-]"""
        return self.whalley / self.dasilva_kay, self.silva / self.dasilva_kay


@dataclass(frozen=True, slots=True)
class Effect:
    """What one factor on the exponent does to one wall class on the Iowa weather."""

    factor: float
    wall_class: int
    crossed: float
    """Share of the axes through the wall at season's end, median of the seasons. [0-1]"""
    extra: float
    """Stress-day equivalents of the held roots beyond those of free roots, mean. [d]"""


def whalley_exponent(field_capacity: float, wilting_point: float) -> float:
    """Exponent on water content that Whalley et al. 2007 comes to in one soil.

    ``Q ~ (suction * saturation)**0.35``, with suction rising as water content to the power
    ``-B`` (Saxton & Rawls 2006, Eq. 15): ``0.35 (1 - B)``.
    """
    return 0.35 * (1.0 - retention_slope(field_capacity, wilting_point))


def silva_exponent(clay_pct: float) -> float:
    """Exponent of Silva, Tormena, Fidalski & Imhoff 2008, from 180 samples.

    Rev. Bras. Cienc. Solo 32:1-10, read in a library that cites it.
    """
    return -0.8546 - 0.0412 * clay_pct


def own_share(clay_pct: float, carbon_pct: float) -> float:
    """Water at 1500 kPa over water at 33 kPa by da Silva & Kay 1997's own retention. [-]"""
    slope = (
        -0.5456
        + 0.1127 * math.log(clay_pct)
        + 0.0223 * math.log(carbon_pct)
        + 0.1013 * math.log(DENSITY)
    )
    return float((1500.0 / 33.0) ** slope)


def exponents(texture: str) -> Exponents:
    """Return the three exponents of a texture class at the tables' organic matter."""
    soil = soil_from_texture(texture)
    return Exponents(
        texture,
        drying_exponent(soil.clay_pct, _carbon(soil)),
        whalley_exponent(soil.field_capacity, soil.wilting_point),
        silva_exponent(soil.clay_pct),
        soil.wilting_point / soil.field_capacity,
        own_share(soil.clay_pct, _carbon(soil)),
    )


def effects(texture: str, years: Iterable[int] = YEARS) -> list[Effect]:
    """Run seasons of the Iowa record with each factor and wall class.

    Parameters
    ----------
    texture
        A class of ``rootbound_rules.water.soil``.
    years
        Seasons; every second one by default.
    """
    soil = soil_from_texture(texture, water_table_m=TABLE_M)
    seasons = list(years)
    found = []
    for factor in FACTORS:
        like = drying_by(soil, factor)
        for wall_class in CLASSES:
            ends = [_end(like, year, wall_class) for year in seasons]
            found.append(
                Effect(
                    factor,
                    wall_class,
                    median(c for c, _ in ends),
                    fmean(extra for _, extra in ends),
                )
            )
    return found


def drying_by(soil: Soil, factor: float) -> Soil:
    """Return a soil whose drying exponent is ``factor`` times its own.

    The trace uses a soil's clay for this exponent alone.
    """
    wanted = factor * drying_exponent(soil.clay_pct, _carbon(soil))
    none, one = drying_exponent(0.0, 0.0), drying_exponent(1.0, 0.0)
    carbon = drying_exponent(10.0, 1.0) - drying_exponent(10.0, 0.0)
    return replace(soil, clay_pct=(wanted - none - carbon * _carbon(soil)) / (one - none))


def _carbon(soil: Soil) -> float:
    """Organic carbon of a soil. [%]"""
    return load_table("wall").number("wall.carbon_share") * soil.organic_matter_pct


def _end(soil: Soil, year: int, wall_class: int) -> tuple[float, float]:
    """Share that crossed, and stress-day equivalents beyond free roots, of one season."""
    dig = Dig(date(year, *DUG), wall_class)
    season = FieldSeason(LAT, ELEVATION_M, date(year, *PLANTED), soil, digs=(dig,))
    last = trace_season(season, iowa_weather(date(year, 1, 1), date(year, 9, 30)))[-1]
    share = last.crossed / (last.crossed + last.trapped)
    return share, last.held.stress_days - last.free.stress_days
