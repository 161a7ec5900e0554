"""Digs, photos, observations and notes as the API takes and gives them."""

from __future__ import annotations

import datetime as dt
from typing import Any, Literal

from pydantic import Field

from rootbound_service.web.api.base import Day, In, Line, Out
from rootbound_service.web.api.shapes import StandingOut

WALL = "0 crumbles, 1 firm, 2 smeared, 3 hard and shiny"
PAN = "0 none, 1 firm, 2 hard, 3 very hard or platy"
Moisture = Literal["dry", "moist", "wet"]
NEXT = "What to send as after for the next page"


class DigIn(In):
    """A dig card to be kept; counts are sums over the plants."""

    date: Day = Field(description="Of the dig", examples=["2026-06-01"])
    wall_class: int = Field(ge=0, le=3, description=f"Of the middle plant: {WALL}", examples=[2])
    plants: int = Field(0, ge=0, le=200, description="How many were dug", examples=[5])
    crossing: int | None = Field(
        None, ge=0, le=20_000, description="Roots that cross the wall; with held and plants"
    )
    held: int | None = Field(
        None, ge=0, le=20_000, description="Roots held in the furrow; with crossing and plants"
    )
    pan_class: int = Field(0, ge=0, le=3, description=PAN)
    pan_depth_cm: float | None = Field(
        None, ge=2, le=80, description="Top of the pan; only with a pan"
    )
    seed_depth_cm: float | None = Field(None, ge=1, le=12)
    soil_moisture: Moisture | None = None
    note: str = Field("", max_length=2000)


class DigOut(Out):
    """A dig card."""

    id: int
    date: dt.date
    wall_class: int = Field(ge=0, le=3, description=WALL)
    plants: int
    crossing: int | None
    held: int | None
    pan_class: int = Field(ge=0, le=3, description=PAN)
    pan_depth_cm: float | None
    seed_depth_cm: float | None
    soil_moisture: Moisture | None
    note: str
    by: str = Field(description="Who dug")
    recorded_at: dt.datetime | None


class DigPage(Out):
    """Digs of the season by number."""

    digs: list[DigOut]
    next: int | None = Field(description=NEXT)


class MeaningOut(Out):
    """A field as of today, worked out at once; nothing of it is stored."""

    before: StandingOut | None = Field(description="With the digs before this one")
    after: StandingOut | None = Field(
        description="With this one as well, at the rung that the figures alone ask for; "
        "the nights move more slowly"
    )
    why_not: str = Field(description="Why nothing, or not all, can be said; else empty")


class PhotoOut(Out):
    """A photo of a dig: drawn anew, without place or camera."""

    id: int
    dig_id: int
    width_px: int
    height_px: int
    path: str = Field(description="Where the picture is; with ?small=true the small one")


class PhotoPage(Out):
    """Photos of the season by number."""

    photos: list[PhotoOut]
    next: int | None = Field(description=NEXT)


class ObservationIn(In):
    """What somebody measured, saw or did on one day: one thing at least."""

    date: Day = Field(description="The field's own day", examples=["2026-07-01"])
    rain_mm: float | None = Field(None, ge=0, le=300, examples=[14.5])
    irrigation_mm: float | None = Field(None, ge=0, le=150)
    rolled: bool | None = Field(None, description="Whether leaves were rolled at noon")
    harvested: bool = False
    morning: bool = Field(
        default=False, description="The gauge was read that morning: the rain is of the day before"
    )
    note: str = Field("", max_length=2000)


class ObservationOut(Out):
    """An observation."""

    id: int
    kind: Literal["rain", "rolled", "irrigation", "harvest"]
    date: dt.date
    value: float | None = Field(description="Rain and irrigation in mm; rolled: 1 yes, 0 no")
    by: str
    recorded_at: dt.datetime
    note: str
    withdraws: int | None = Field(description="Number of the observation that this one takes back")


class ObservationsOut(Out):
    """What was recorded."""

    observations: list[ObservationOut]


class ObservationPage(ObservationsOut):
    """Everything recorded this season by number, withdrawn ones among it."""

    next: int | None = Field(description=NEXT)


class WithdrawIn(In):
    """Why an observation is taken back."""

    note: Line = Field("", max_length=2000)


class NoteOut(Out):
    """A note: one message about a change of rung."""

    id: int
    field_id: int
    night: dt.date
    from_rung: int | None = Field(ge=0, le=4)
    to_rung: int | None = Field(ge=0, le=4)
    reason: str


class NoteWhole(NoteOut):
    """A note with everything that it can be computed again from."""

    evidence: dict[str, Any]


class NotePage(Out):
    """Notes of the season, the latest first."""

    notes: list[NoteOut]
    next: int | None = Field(description=NEXT)


class SilenceIn(In):
    """For how long nothing is to be sent."""

    days: int = Field(ge=0, le=30, description="Days from today on; 0 ends it", examples=[7])


class SilenceOut(Out):
    """Until when nothing is sent."""

    field_id: int
    until: dt.date = Field(description="Last silent day; before today: none")


class SeenOut(Out):
    """A note that was seen."""

    note_id: int
    field_id: int
    at: dt.datetime
