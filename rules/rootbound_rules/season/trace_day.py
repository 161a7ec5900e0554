"""What a trace tells of one day: weather, plant, and the state of both twins."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(slots=True)
class Twin:
    """State of one twin at the end of a day. [m, mm, 0-1]"""

    depth: float
    within: float
    beyond: float
    below: float
    table: float
    reach: float = 1.0
    ks: float = 1.0
    p: float = 0.55
    taw: float = 0.0
    water: float = 0.0
    stress: float = 0.0
    stress_days: float = 0.0
    evaporation: float = 0.0
    transpiration: float = 0.0
    percolation: float = 0.0
    rise: float = 0.0


@dataclass(frozen=True, slots=True)
class TraceDay:
    """One day of a trace; lengths in m, water in mm."""

    date: date
    gdd_f: float
    gdd_f_total: float
    chu: float
    chu_total: float
    stage: str
    collars: float
    rain_mm: float
    irrigation_mm: float
    et0_mm: float
    kcb: float
    ke: float
    runoff_mm: float
    infiltration_mm: float
    top_depletion_mm: float
    crossed: float
    trapped: float
    free: Twin
    held: Twin
