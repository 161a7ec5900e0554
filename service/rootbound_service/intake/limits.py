"""The range a number may have on a form: wide enough for any field, narrow enough for slips.

These are limits of the forms, not agronomy: a value outside is a slip of the pen or of the unit.
"""

from __future__ import annotations

from dataclasses import dataclass

CM_PER_INCH = 2.54

PLANTED_DAYS_BACK = 300
"""No season is longer: planted earlier, it is over. [days]"""
DIG_DAYS_AFTER_PLANTING = 200
"""Past this there is no root of that season left to rate. [days]"""
NAME_LENGTH = 80
NOTE_LENGTH = 2000


@dataclass(frozen=True, slots=True)
class Limit:
    """What a number on a form may be, and the words to say so."""

    noun: str
    low: float
    high: float
    unit: str = ""
    said: str = ""
    """What to say of the limit, where that is not the limit itself."""

    def wanted(self) -> str:
        """Say what would be right."""
        if self.said:
            return self.said
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.noun} is {self.low:g} to {self.high:g}{unit}"


LATITUDE = Limit("latitude", -90, 90, "degrees")
LONGITUDE = Limit("longitude", -180, 180, "degrees")
EITHER_DEGREES = Limit("latitude", -180, 180, said=LATITUDE.wanted())
"""Latitude as first read: a longitude in its place is told apart later."""
ELEVATION_M = Limit("elevation", -400, 4000, "m")
ROW_CM = Limit("row spacing", 18, 150, "cm")
ROW_IN = Limit("row spacing", 7, 59, "in")
BLACK_LAYER_GDD_F = Limit("heat units to black layer", 1500, 3600, "(on the seed tag)")
SEED_CM = Limit("seed depth", 1, 12, "cm")
SEED_IN = Limit("seed depth", 0.4, 4.7, "in")
WATER_CONTENT = Limit("water content", 0.02, 0.6, "(share of the soil's volume)")
CLAY_PCT = Limit("clay", 0, 60, "%")
ORGANIC_MATTER_PCT = Limit("organic matter", 0, 8, "%")
PROFILE_M = Limit("profile depth", 0.3, 2.5, "m")
WATER_TABLE_M = Limit("depth to the water table", 0.3, 100, "m")
WALL_CLASS = Limit("wall class", 0, 3, "(0 crumbles, 1 firm, 2 smeared, 3 hard and shiny)")
PAN_CLASS = Limit("pan class", 0, 3, "(0 none, 1 firm, 2 hard, 3 very hard or platy)")
PLANTS = Limit("number of plants dug", 0, 200)
ROOTS = Limit("number of roots counted", 0, 20000)
PAN_DEPTH_CM = Limit("pan depth", 2, 80, "cm")
