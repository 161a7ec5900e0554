"""The end of a year's seasons as the API gives it: were the warnings right?"""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import Field

from rootbound_service.web.api.base import Out

CAME = "came: stress followed; rain_came: rain came between; not_came: a false alarm"


class WarningOut(Out):
    """One warning and what it came to."""

    night: dt.date
    last: dt.date = Field(description="Last day on which stress could bear it out")
    rung: int = Field(ge=0, le=4)
    stress_days: float | None
    water_mm: float | None = Field(description="Rain and irrigation between")
    came: Literal["came", "rain_came", "not_came", "not_known"] = Field(description=CAME)


class EndOut(Out):
    """One season, judged by the weather as it is known now."""

    field: str
    grower: str
    crop: str
    planted: dt.date
    wall_class: int | None = Field(description="Of the last dig")
    held_stress_days: float = Field(description="Stress-day equivalents of the roots as dug")
    free_stress_days: float = Field(description="The same for free roots")
    days_unknown: int
    first_stress: dt.date | None
    harvested: dt.date | None
    yield_t_ha: float | None = Field(description="As reported; nothing here is estimated")
    lead: Literal["warned", "late", "never"] | None = Field(
        description="Whether tight was told before stress came; none: no stress came"
    )
    lead_days: int | None
    warnings: list[WarningOut]


class TallyOut(Out):
    """How often warnings were right."""

    seasons: int
    stressed: int
    hits: int = Field(description="Spells of stress that were warned of")
    misses: int
    false_alarms: int
    rain_came: int
    not_known: int


class YearOut(Out):
    """The seasons of one year of planting."""

    year: int
    all: TallyOut
    seasons: list[EndOut] = Field(description="By the name of the field")
