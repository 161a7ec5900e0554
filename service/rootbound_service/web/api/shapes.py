"""What the API takes and gives; figures in SI units, the unit in the name."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from fastapi import Path
from pydantic import BaseModel, ConfigDict, Field

MOST_ID = 2**31 - 1
Id = Annotated[int, Path(ge=1, le=MOST_ID)]


class In(BaseModel):
    """Base of what is taken: an unknown name is refused."""

    model_config = ConfigDict(extra="forbid")


class DaysAheadOut(BaseModel):
    """How many days sooner the held roots run short than free roots."""

    kind: str
    median: float | None
    low: float | None
    high: float | None


class HoldDayOut(BaseModel):
    """Rain that would hold the field, if it fell on one day."""

    day: dt.date
    mm: float | None
    low_mm: float | None
    high_mm: float | None


class HoldOut(BaseModel):
    """Rain to hold."""

    kind: str
    days: list[HoldDayOut]


class StandingOut(BaseModel):
    """How a field stood on its last night."""

    night: dt.date
    status: str
    rung: int | None = Field(description="0 ample, 1 drawing down, 2 tight, 3 short, 4 failing")
    free_rung: int | None
    reason: str
    stage: str
    gdd_f: float
    water_in_reach_mm: float | None
    free_water_mm: float | None
    days_ahead: DaysAheadOut
    rain_to_hold: HoldOut | None
    chance_7_days: float | None
    chance_14_days: float | None
    stress_days_season: float | None
    reach: float | None
    weather_through: dt.date | None


class DigOut(BaseModel):
    """A dig card."""

    id: int
    date: dt.date
    wall_class: int
    plants: int
    crossing: int | None
    held: int | None
    pan_class: int
    pan_depth_cm: float | None
    seed_depth_cm: float | None
    soil_moisture: str | None
    note: str
    by: str


class FieldOut(BaseModel):
    """A field with its latest season."""

    id: int
    name: str
    lat: float
    lon: float
    elevation_m: float | None
    time_zone: str
    irrigated: bool
    grower: str
    adviser: str | None
    crop: str
    planted: dt.date
    row_spacing_cm: float
    seed_depth_cm: float
    black_layer_gdd_f: float | None
    soil: dict[str, Any]
    digs: int
    standing: StandingOut | None = Field(description="None before the first night")


class FieldPage(BaseModel):
    """Some fields, and where the next are."""

    fields: list[FieldOut]
    next: str | None = Field(description="What to send as after= for the next page")


class FieldIn(In):
    """A field to be enrolled."""

    name: str = Field(max_length=80, examples=["North Forty"])
    lat: float = Field(ge=-90, le=90, examples=[41.62])
    lon: float = Field(ge=-180, le=180, examples=[-94.92])
    grower: str = Field(max_length=400, examples=["Ann Miller <ann@example.org>"])
    planted: dt.date = Field(examples=["2026-04-24"])
    crop: Literal["maize", "soybean", "sorghum"] = "maize"
    elevation_m: float | None = None
    row_spacing_cm: float | None = None
    seed_depth_cm: float | None = None
    black_layer_gdd_f: float | None = None
    irrigated: bool = False
    texture: str | None = Field(None, max_length=40)
    units: Literal["us", "metric"] = "us"


class DigIn(In):
    """A dig card to be kept; counts are sums over the plants."""

    date: dt.date
    wall_class: int = Field(ge=0, le=3, description="0 crumbles, 1 firm, 2 smeared, 3 shiny")
    plants: int = Field(0, ge=0, le=1000)
    crossing: int | None = Field(None, ge=0, le=10_000)
    held: int | None = Field(None, ge=0, le=10_000)
    pan_class: int = Field(0, ge=0, le=3)
    pan_depth_cm: float | None = None
    seed_depth_cm: float | None = None
    soil_moisture: Literal["dry", "moist", "wet"] | None = None
    note: str = Field("", max_length=2000)


class ObservationIn(In):
    """What somebody measured, saw or did on one day."""

    date: dt.date
    rain_mm: float | None = Field(None, ge=0, le=300)
    irrigation_mm: float | None = Field(None, ge=0, le=150)
    rolled: bool | None = None
    harvested: bool = False
    morning: bool = Field(default=False, description="The gauge was read that morning")
    note: str = Field("", max_length=2000)


class ObservationOut(BaseModel):
    """An observation; rain and irrigation in mm, rolled as 1 or 0."""

    id: int
    kind: str
    day: dt.date
    value: float | None
    by: str
    recorded_at: dt.datetime
    note: str
    withdraws: int | None


class ObservationsOut(BaseModel):
    """Everything recorded, withdrawn ones among it."""

    observations: list[ObservationOut]


class DigsOut(BaseModel):
    """The digs of a season."""

    digs: list[DigOut]


class NoteOut(BaseModel):
    """A note."""

    id: int
    field_id: int
    night: dt.date
    from_rung: int | None
    to_rung: int | None
    reason: str
    evidence: dict[str, Any] | None = None


class NotesOut(BaseModel):
    """The notes of a season, the latest first."""

    notes: list[NoteOut]


class SeasonOut(BaseModel):
    """A season day by day: what has been, then the outlook's middle 80 %."""

    first: dt.date
    rain_mm: list[float]
    held_water_mm: list[float]
    free_water_mm: list[float]
    reach: list[float]
    held_stress_days: list[float]
    free_stress_days: list[float]
    ahead_first: dt.date | None
    held_low_mm: list[float]
    held_middle_mm: list[float]
    held_high_mm: list[float]
    free_middle_mm: list[float]
    stages: list[tuple[str, dt.date]]


class SilenceIn(In):
    """For how long nothing is to be sent; 0 ends it."""

    days: int = Field(ge=0, le=30)
