"""The form of what a person saw or did on a field, and how depths of water are read."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, cast

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from rootbound_service.intake import kinds as kind
from rootbound_service.intake import limits as limit
from rootbound_service.intake.cells import read_number, read_text, read_whole
from rootbound_service.intake.forms import Form
from rootbound_service.intake.limits import CM_PER_INCH, Limit
from rootbound_service.intake.wrong import shown, wrong
from rootbound_service.intake.yields import WANTED as YIELD_WANTED
from rootbound_service.intake.yields import read_yield

MM_PER_INCH = 10.0 * CM_PER_INCH
MOST_MM = {"rain": 300.0, "irrigation": 150.0}
"""Of one day: more rain falls in no field that a gauge survives, more water is no pass. [mm]"""
HARVEST_DAYS_AFTER_PLANTING = 80
"""The earliest hybrids reach R5 later than this, and silage is not cut before. [days]"""
AMOUNT = re.compile(r"(?P<number>[^a-z\"″']*)(?P<unit>[a-z\"″']*)\.?", re.ASCII | re.IGNORECASE)
INCHES = ("in", "inch", "inches", '"', "''")
MILLIMETRES = ("mm", "millimetre", "millimetres", "millimeter", "millimeters")
OBSERVATION_ID = Limit(
    "id", 1, 1e9, said="give the id of an observation, as rootbound observe FIELD lists them"
)
BY_WANTED = "say who saw or did it, 1 to 80 characters"


def read_depth(value: object, noun: str, units: str) -> float:
    """Read a depth of water.

    Parameters
    ----------
    value
        A number in the person's unit, or text with its own: ``0.8 in``, ``20 mm``.
    noun
        ``rain`` or ``irrigation``.
    units
        The person's, ``us`` or ``metric``: what a bare number is in.

    Returns
    -------
    float
        The depth. [mm]

    Raises
    ------
    PydanticCustomError
        Naming what was given and what would be right.
    """
    number, unit = _parted(value, noun, units)
    factor = MM_PER_INCH if unit == "in" else 1.0
    most = MOST_MM[noun]
    said = f"{noun} of a day is 0 to {most / MM_PER_INCH:.1f} in or 0 to {most:.0f} mm"
    within = Limit(noun, 0.0, most / factor, unit, said=said + ", as 0.8 in or 20 mm")
    return read_number(number, within) * factor


def _parted(value: object, noun: str, units: str) -> tuple[object, str]:
    """A depth's number and its unit, the person's own where none is written."""
    own = "in" if units == "us" else "mm"
    if not isinstance(value, str):
        return value, own
    found = AMOUNT.fullmatch(value.strip())
    if found is None:
        wanted = f"write the {noun} as a number with its unit, as 0.8 in or 20 mm"
        raise wrong(f"{shown(value)} is not a depth of water", wanted)
    unit = found["unit"].lower()
    if unit and unit not in INCHES + MILLIMETRES:
        raise wrong(f"{shown(found['unit'])} is not a unit of water", "write in or mm")
    if not unit:
        return found["number"].strip(), own
    return found["number"].strip(), "in" if unit in INCHES else "mm"


def _bare(value: object) -> object:
    """An id without its number sign."""
    return value.strip().removeprefix("#") if isinstance(value, str) else value


def _seen(info: ValidationInfo, name: str) -> object:
    """Something that whoever checks the form knows, or None."""
    return cast("dict[str, object]", info.context or {}).get(name)


class WhoForm(Form):
    """Who says so."""

    by: Annotated[
        str,
        BeforeValidator(lambda value: read_text(value, "who", limit.NAME_LENGTH)),
        Field(description=BY_WANTED),
    ]


class WithdrawalForm(WhoForm):
    """An observation that somebody takes back."""

    withdraw: Annotated[
        int,
        BeforeValidator(lambda value: read_whole(_bare(value), OBSERVATION_ID)),
        Field(description=OBSERVATION_ID.wanted()),
    ]
    note: kind.NoteText = ""


class ObservationForm(WhoForm):
    """What one person saw or did on one field on one day."""

    date: kind.Day
    rain: Annotated[object, Field(description="write the rain as 0.8 in or 20 mm")] = None
    irrigation: Annotated[object, Field(description="write the water as 1 in or 25 mm")] = None
    rolled: kind.YesNo | None = None
    harvested: kind.YesNo = False
    harvest_yield: Annotated[object, Field(description=YIELD_WANTED)] = None
    morning: kind.YesNo = False
    note: kind.NoteText = ""
    form_id: kind.FormId = ""

    @field_validator("date")
    @classmethod
    def _in_season(cls, value: dt.date, info: ValidationInfo) -> dt.date:
        today = cast("dt.date | None", _seen(info, "today"))
        planted = cast("dt.date | None", _seen(info, "planted"))
        if today and value > today:
            raise wrong(f"{value} is in the future (today is {today})", "give a day up to today")
        if planted and value < planted:
            raise wrong(f"{value} is before planting ({planted})", "give a day of this season")
        if planted and (value - planted).days > limit.PLANTED_DAYS_BACK:
            raise wrong(
                f"{value} is {(value - planted).days} days after planting ({planted})",
                f"a season is over {limit.PLANTED_DAYS_BACK} days after planting",
            )
        return value

    @field_validator("rain", "irrigation")
    @classmethod
    def _depth(cls, value: object, info: ValidationInfo) -> object:
        if value is None:
            return None
        return read_depth(value, str(info.field_name), str(_seen(info, "units") or "us"))

    @field_validator("harvest_yield")
    @classmethod
    def _yield(cls, value: object, info: ValidationInfo) -> object:
        if value is None:
            return None
        if not info.data.get("harvested"):
            raise wrong("is given without a harvest", "say that the crop is harvested as well")
        crop, units = _seen(info, "crop"), _seen(info, "units")
        return read_yield(value, str(crop or "maize"), str(units or "us"))

    @field_validator("harvested")
    @classmethod
    def _ripe(cls, value: bool, info: ValidationInfo) -> bool:  # noqa: FBT001  pydantic's order
        planted = cast("dt.date | None", _seen(info, "planted"))
        day = info.data.get("date")
        if value and planted and day and (day - planted).days < HARVEST_DAYS_AFTER_PLANTING:
            raise wrong(
                f"{day} is {(day - planted).days} days after planting ({planted})",
                f"no crop reaches R5 within {HARVEST_DAYS_AFTER_PLANTING} days: look at the day",
                at="date",
            )
        return value

    @field_validator("morning")
    @classmethod
    def _of_a_gauge(cls, value: bool, info: ValidationInfo) -> bool:  # noqa: FBT001  pydantic's
        if not value:
            return value
        if "rain" in info.data and info.data["rain"] is None:
            raise wrong("is about a rain gauge, and no rain is given", "give the rain, or leave it")
        planted, day = cast("dt.date | None", _seen(info, "planted")), info.data.get("date")
        if planted and day == planted:
            raise wrong(
                f"the rain before the morning of {day} fell before planting ({planted})",
                "give a morning after the day of planting",
            )
        return value
