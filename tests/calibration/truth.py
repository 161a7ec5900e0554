"""Invented field-seasons whose truth is known: soil, planting, wall, roots, and what came.

The truth draws every uncertain number from the spread that the outlook's members have, and
its weather from the climate that their past years have. What the service gets to know of it
is what people would: the soil's name, the day of planting, the wall class, and a dig that
counted roots of a few plants.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from calibration.world import CLIMATES, ELEVATION_M, TRUTH_YEAR, Climate, demand_of
from rootbound_rules.season.demand import Demand
from rootbound_rules.season.members import DIMENSIONS, draw_members
from rootbound_rules.season.trace import run_trace
from rootbound_rules.season.values import Dig, FieldSeason, Soil
from rootbound_rules.water.soil import soil_from_texture

CLASS_SHARES = (0.10, 0.25, 0.35, 0.30)
"""How common wall classes 0 to 3 are here; invented."""
COUNTED_SHARE = 0.85
"""Of digs at which roots were counted; at the rest only the wall was felt. Invented."""
AXES_OF_A_PLANT = 30
"""Nodal axes that a plant puts out in all; invented, near what a plant has by tassel."""
SOILS: tuple[tuple[str, float, float | None], ...] = (
    ("silt loam", 3.0, None),
    ("silty clay loam", 4.0, 1.2),
    ("silt loam", 3.5, 1.0),
    ("loam", 3.5, None),
    ("clay loam", 3.0, None),
    ("sandy loam", 1.5, None),
)
"""Texture, organic matter [%], water table in spring [m]: from wet ground to one that dries."""


@dataclass(frozen=True)
class Told:
    """What came true of one twin, one value a day from the first simulated day on."""

    stress: NDArray[np.float64]
    water: NDArray[np.float64]


@dataclass(frozen=True)
class FieldTruth:
    """One field-season: what the service knows, and what came true."""

    number: int
    climate: str
    soil: str
    season: FieldSeason
    """As the service knows it, the dig included."""
    demand: Demand
    """Past years and the season's own; the service reads the latter night by night."""
    seed: int
    """Of the service's draws."""
    first: date
    gdd_f: NDArray[np.float64]
    """Heat units since planting. [degF d]"""
    collars: NDArray[np.float64]
    held: Told
    free: Told
    true_share: float
    """Of axes that had crossed on the day of the dig. [0-1]"""

    def day(self, day: date) -> int:
        """Position of a day in the arrays."""
        return (day - self.first).days

    @property
    def wall_class(self) -> int:
        """As the dig found it."""
        return self.season.digs[0].wall_class

    @property
    def counted(self) -> bool:
        """Whether roots were counted."""
        return self.season.digs[0].crossing is not None


def field_truth(number: int, seed: int, drier: Climate | None = None) -> FieldTruth:
    """Make one field-season.

    Parameters
    ----------
    number
        Which one; climates and soils take turns.
    seed
        Of the whole world.
    drier
        Climate of the season that comes true in place of the past years' own: a lie that
        the scores must find.
    """
    rng = np.random.default_rng([seed, number])
    climate = CLIMATES[number % len(CLIMATES)]
    texture, organic, table = SOILS[int(rng.integers(len(SOILS)))]
    soil = soil_from_texture(texture, organic, water_table_m=table)
    planted = date(TRUTH_YEAR, 4, 20) + timedelta(days=int(rng.integers(36)))
    wall_class = int(rng.choice(4, p=CLASS_SHARES))
    demand = demand_of(climate, rng, drier)
    felt = Dig(planted + timedelta(days=1), wall_class)  # a wall is there from planting on
    blind = FieldSeason(
        climate.lat,
        ELEVATION_M,
        planted,
        soil,
        black_layer_gdd_f=climate.black_layer_gdd_f,
        digs=(felt,),
    )
    trace = run_trace(blind, demand, _true_draw(soil, rng))
    collars = np.array([day.collars for day in trace])
    dug = int(np.argmax(collars >= rng.uniform(3.0, 6.0)))
    crossed, trapped = trace[dug].crossed, trace[dug].trapped
    share = crossed / (crossed + trapped) if wall_class else 1.0
    dig = _dig(trace[dug].date, wall_class, crossed + trapped, share, rng)
    return FieldTruth(
        number=number,
        climate=climate.name,
        soil=texture + (" over a water table" if table else ""),
        season=replace(blind, digs=(dig,)),
        demand=demand,
        seed=int(rng.integers(2**31)),
        first=trace[0].date,
        gdd_f=np.array([day.gdd_f_total for day in trace]),
        collars=collars,
        held=Told(_series(trace, "held", "stress"), _series(trace, "held", "water")),
        free=Told(_series(trace, "free", "stress"), _series(trace, "free", "water")),
        true_share=share,
    )


def _true_draw(soil: Soil, rng: Generator):
    """One draw of what is uncertain, from the spread of the outlook's members."""
    return draw_members(soil, rng.random((1, DIMENSIONS)))[0]


def _dig(day: date, wall_class: int, out: float, share: float, rng: Generator) -> Dig:
    """A dig of a few plants; each root seen crosses with the true share."""
    plants = int(rng.integers(3, 11))
    roots = plants * max(round(AXES_OF_A_PLANT * (out or 0.3)), 1)
    crossing = int(rng.binomial(roots, share))
    if rng.random() >= COUNTED_SHARE:
        return Dig(day, wall_class, plants)
    return Dig(day, wall_class, plants, crossing, roots - crossing)


def _series(trace, twin: str, name: str) -> NDArray[np.float64]:
    """One number of one twin, day by day."""
    return np.array([getattr(getattr(day, twin), name) for day in trace])
