"""Fields and their seasons as the API takes and gives them; units stand in the names."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import Field

from rootbound_service.web.api.base import Day, In, Line, Out

Status = Literal["watched", "unrated", "unknown", "waiting", "finished"]
CropName = Literal["maize", "soybean", "sorghum"]
Position = Annotated[list[float], Field(min_length=2, max_length=3)]
RUNG = "0 ample, 1 drawing down, 2 tight, 3 short, 4 failing"
RANGE = "Middle 80 % of the outlook"


class DaysAheadOut(Out):
    """How many days sooner the held roots run short than free roots would."""

    kind: Literal["days", "free_would_not", "neither", "none"] = Field(
        description="days: the figures are set; free_would_not: held roots run short and free "
        "roots would not; neither: neither does; none: nothing to compare"
    )
    median: float | None = Field(description="Days", examples=[6.0])
    low: float | None = Field(description=f"Days; {RANGE}", examples=[2.0])
    high: float | None = Field(description=f"Days; {RANGE}; none: no upper end", examples=[11.0])


class HoldDayOut(Out):
    """Rain that would hold the field, if it fell on one day."""

    day: dt.date
    mm: float | None = Field(description="None: no rain of that day would", examples=[18.0])
    low_mm: float | None = Field(description="Enough in one of five members of the outlook")
    high_mm: float | None = Field(description="Enough in four of five")


class HoldOut(Out):
    """Smallest rain that keeps the field from climbing a rung."""

    kind: Literal["none_needed", "rain", "none_would", "at_top", "already_climbing"]
    days: list[HoldDayOut]


class StandingOut(Out):
    """How a field stands: what its last night found, and unknown if its weather is too old."""

    night: dt.date
    status: Status = Field(
        description="watched: on the ladder; unrated: no dig yet, computed as free roots; "
        "unknown: weather too old; waiting: not up yet; finished: black layer reached"
    )
    rung: int | None = Field(ge=0, le=4, description=f"{RUNG}; none where unknown")
    free_rung: int | None = Field(ge=0, le=4, description="The same for free roots")
    reason: str = Field(description="Named reason of the decision", examples=["ample"])
    stage: str = Field(examples=["V10"])
    gdd_f: float = Field(description="Growing degree days since planting, base 50 F, cap 86 F")
    water_in_reach_mm: float | None = Field(description="What held roots can take up unstressed")
    free_water_mm: float | None = Field(description="The same for free roots")
    days_ahead: DaysAheadOut
    rain_to_hold: HoldOut | None
    chance_7_days: float | None = Field(description="Chance of tight within a week, 0 to 1")
    chance_14_days: float | None = Field(
        description="Chance of drawing down within two weeks, 0 to 1"
    )
    stress_past_7_days: float | None = Field(description="Stress-day equivalents, held roots")
    stress_season_days: float | None = Field(description="The same of the season so far")
    reach: float | None = Field(
        description="Share of the rooted soil that held roots get at, 0 to 1"
    )
    weather_through: dt.date | None = Field(description="Last day of real weather behind this")
    remark: str | None = Field(
        description="A sentence where less is told than a night finds, as in a list of very many "
        "fields, or where weather was corrected since; none: all is as the night found it"
    )


class SoilOut(Out):
    """The soil that counts, whoever said it."""

    texture: str | None
    field_capacity: float | None = Field(description="m3/m3")
    wilting_point: float | None = Field(description="m3/m3")
    clay_pct: float | None
    organic_matter_pct: float | None
    profile_depth_m: float | None
    water_table_m: float | None
    origin: str = Field(description="Where it is from")


class FieldOut(Out):
    """A field with its latest season."""

    id: int
    name: str
    lat: float
    lon: float
    elevation_m: float | None
    time_zone: str
    irrigated: bool
    grower_id: int
    grower: str
    adviser: str | None
    crop: str
    planted: dt.date
    row_spacing_cm: float
    seed_depth_cm: float
    black_layer_gdd_f: float | None
    soil: SoilOut
    digs: int = Field(description="How many times it was dug this season")
    standing: StandingOut | None = Field(description="None before the first night")


class FieldPage(Out):
    """Some fields by number, and where the next are."""

    fields: list[FieldOut]
    next: int | None = Field(description="What to send as after for the next page")


class FieldIn(In):
    """A field to be enrolled, with this year's season."""

    name: Line = Field(min_length=1, max_length=80, examples=["North Forty"])
    lat: float = Field(ge=-90, le=90, description="Degrees north", examples=[41.62])
    lon: float = Field(ge=-180, le=180, description="Degrees east", examples=[-94.92])
    grower: Line = Field(
        max_length=400, description="Name <address>", examples=["Ann Miller <ann@example.org>"]
    )
    planted: Day = Field(description="At most 300 days back", examples=["2026-04-24"])
    crop: CropName = "maize"
    elevation_m: float | None = Field(None, ge=-400, le=4000)
    row_spacing_cm: float | None = Field(None, ge=18, le=150, description="None: 76")
    seed_depth_cm: float | None = Field(None, ge=1, le=12, description="None: 5")
    black_layer_gdd_f: float | None = Field(
        None, ge=1500, le=3600, description="Heat units to black layer, from the seed tag"
    )
    irrigated: bool = False
    texture: Line | None = Field(
        None, max_length=40, description="None: soil services are asked", examples=["silt loam"]
    )
    field_capacity: float | None = Field(None, ge=0.02, le=0.6, description="m3/m3")
    wilting_point: float | None = Field(None, ge=0.02, le=0.6, description="m3/m3")
    units: Literal["us", "metric"] = Field("us", description="What a new grower reads in")


class SoilChange(In):
    """Soil entered by hand, which counts before what a service says; null withdraws a value."""

    texture: Line | None = Field(None, max_length=40, examples=["silt loam"])
    field_capacity: float | None = Field(None, ge=0.02, le=0.6, description="m3/m3")
    wilting_point: float | None = Field(None, ge=0.02, le=0.6, description="m3/m3")
    clay_pct: float | None = Field(None, ge=0, le=60)
    organic_matter_pct: float | None = Field(None, ge=0, le=8)
    profile_depth_m: float | None = Field(None, ge=0.3, le=2.5)
    water_table_m: float | None = Field(None, ge=0.3, le=100)


class FieldChange(In):
    """What is to be changed; what is not named stays."""

    elevation_m: float | None = Field(None, ge=-400, le=4000, description="Above sea level")
    soil: SoilChange | None = None


class StageOut(Out):
    """The first day of a stage, past or expected."""

    stage: str = Field(examples=["V8"])
    day: dt.date


class SeasonOut(Out):
    """A season day by day as last computed: what has been, then the outlook."""

    first: dt.date = Field(description="Day of the first value of what has been")
    rain_mm: list[float]
    held_water_mm: list[float] = Field(description="Water in reach of the roots as dug")
    free_water_mm: list[float] = Field(description="The same for free roots")
    reach: list[float]
    held_stress_days: list[float] = Field(description="Stress-day equivalents of each day")
    free_stress_days: list[float]
    ahead_first: dt.date | None = Field(description="Day of the first value of the outlook")
    held_low_mm: list[float] = Field(description=f"Water in reach; {RANGE}")
    held_middle_mm: list[float] = Field(description="Water in reach; median of the outlook")
    held_high_mm: list[float] = Field(description=f"Water in reach; {RANGE}")
    free_middle_mm: list[float]
    stages: list[StageOut]


class OutlineIn(In):
    """A field's outline: a GeoJSON Polygon (RFC 7946), the outer ring first, then holes."""

    type: Literal["Polygon"]
    coordinates: list[list[Position]] = Field(
        min_length=1, max_length=50, description="Closed rings of longitude and latitude"
    )


class OutlineOut(Out):
    """A field's outline, and its area without the holes."""

    type: Literal["Polygon"]
    coordinates: list[list[list[float]]]
    area_ha: float
