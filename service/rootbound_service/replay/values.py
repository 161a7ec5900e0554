"""What a season comes to when it is played again: its nights, and what came."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from rootbound_rules.season.values import FieldSeason

TwinName = Literal["free", "held"]
TWINS: tuple[TwinName, ...] = ("free", "held")


@dataclass(frozen=True, slots=True)
class Said:
    """One twin on one night, by what was known that night."""

    rung: int
    raw_rung: int
    chance_14: float
    chance_7: float
    water_mm: float
    note: int | None
    """Rung of the note that would have gone out; None: none."""
    reason: str


@dataclass(frozen=True, slots=True)
class Night:
    """One night of one field."""

    night: date
    stage: str
    rated: bool
    """Whether anybody had dug by then."""
    critical: bool
    free: Said
    held: Said
    ahead_kind: str
    ahead_median: float | None
    ahead_low: float | None
    ahead_high: float | None
    reach: float
    members: int

    def twin(self, name: TwinName) -> Said:
        """One of the twins."""
        return self.free if name == "free" else self.held

    @property
    def told(self) -> Said:
        """The twin that is told of: free roots until somebody has dug."""
        return self.held if self.rated else self.free


@dataclass(frozen=True, slots=True)
class Came:
    """What came of one twin, by the weather that came and the tables' own numbers."""

    stress: Mapping[date, float]
    """Stress-day equivalents of each day. [d]"""
    water_mm: Mapping[date, float]
    total: float
    weighted: float
    """Stress times the published mean loss a stress day, over the stages; NaN where no loss is
    published for the crop. [%]"""
    by_band: Mapping[str, float]
    """Stress-day equivalents by the stage at which a row of the published losses begins."""
    onset: date | None
    """Day on which the season's sum passes the mark that counts as running short."""
    depth_m: Mapping[date, float]


@dataclass(frozen=True, slots=True)
class Played:
    """One season of one field under one finding of the spade."""

    field: str
    season: FieldSeason
    wall_class: int | None
    """Of the last dig; None: nobody dug."""
    nights: tuple[Night, ...]
    free: Came
    held: Came
    stages: Mapping[date, str]
    rain_mm: float
    """May to August of the year, where the weather has all of it; else NaN. [mm]"""

    @property
    def year(self) -> int:
        """Year of planting."""
        return self.season.planted.year

    def came(self, name: TwinName) -> Came:
        """What came of one of the twins."""
        return self.free if name == "free" else self.held
