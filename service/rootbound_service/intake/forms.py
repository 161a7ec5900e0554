"""The forms of a season, a field and a dig: one model each, whatever it was read from."""

from __future__ import annotations

import datetime as dt
from typing import ClassVar, cast

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator

from rootbound_service.intake import kinds as kind
from rootbound_service.intake.limits import DIG_DAYS_AFTER_PLANTING, PLANTED_DAYS_BACK
from rootbound_service.intake.place import check_place
from rootbound_service.intake.wrong import wrong


class Form(BaseModel):
    """Base of the forms: unknown names are refused, so that no slip passes in silence."""

    model_config: ClassVar[ConfigDict] = ConfigDict(extra="forbid", frozen=True)


def _known(info: ValidationInfo, name: str) -> dt.date | None:
    """A day that whoever checks the form knows, or None."""
    context = cast("dict[str, dt.date | None]", info.context or {})
    return context.get(name)


def _not_both(value: float | None, info: ValidationInfo, other: str) -> float | None:
    if value is not None and info.data.get(other) is not None:
        raise wrong(f"is given beside {other}", "give one of the two units, not both")
    return value


class SoilForm(Form):
    """Soil: a texture, or the two numbers that a texture would stand for, or what is known."""

    texture: kind.Texture | None = None
    field_capacity: kind.WaterContent | None = None
    wilting_point: kind.WaterContent | None = None
    clay_pct: kind.ClayPct | None = None
    organic_matter_pct: kind.OrganicPct | None = None
    profile_depth_m: kind.ProfileM | None = None
    water_table_m: kind.WaterTableM | None = None

    @field_validator("wilting_point")
    @classmethod
    def _below_field_capacity(cls, value: float | None, info: ValidationInfo) -> float | None:
        capacity = info.data.get("field_capacity")
        if value is not None and capacity is not None and value >= capacity:
            raise wrong(
                f"{value:g} is not below the field capacity, {capacity:g}",
                "a wilting point is smaller than the field capacity",
            )
        return value


class CropForm(SoilForm):
    """One crop on one piece of ground."""

    elevation_m: kind.ElevationM | None = None
    row_spacing_cm: kind.RowCm | None = None
    row_spacing_in: kind.RowIn | None = None
    irrigated: kind.YesNo = False
    crop: kind.Crop = "maize"
    planted: kind.Day
    black_layer_gdd_f: kind.BlackLayer | None = None
    seed_depth_cm: kind.SeedCm | None = None
    seed_depth_in: kind.SeedIn | None = None

    @field_validator("row_spacing_in")
    @classmethod
    def _one_row_spacing(cls, value: float | None, info: ValidationInfo) -> float | None:
        return _not_both(value, info, "row_spacing_cm")

    @field_validator("seed_depth_in")
    @classmethod
    def _one_seed_depth(cls, value: float | None, info: ValidationInfo) -> float | None:
        return _not_both(value, info, "seed_depth_cm")


class SeasonForm(CropForm):
    """A season to be traced by itself, past or present, without longitude or people."""

    name: kind.Name | None = None
    lat: kind.Latitude


class FieldForm(CropForm):
    """A field to be watched this season, with its people."""

    name: kind.Name
    lat: kind.EitherDegrees
    lon: kind.Longitude
    grower: kind.NameAndAddress
    adviser: kind.NameAndAddress | None = None
    units: kind.UnitSystem = "us"

    @field_validator("lon")
    @classmethod
    def _on_land(cls, value: float, info: ValidationInfo) -> float:
        if "lat" in info.data:
            check_place(info.data["lat"], value)
        return value

    @field_validator("planted")
    @classmethod
    def _this_season(cls, value: dt.date, info: ValidationInfo) -> dt.date:
        today = _known(info, "today")
        if today is None:
            return value
        if value > today:
            raise wrong(
                f"{value} is in the future (today is {today})",
                "enrol the field on the day it is planted or after",
            )
        back = (today - value).days
        if back > PLANTED_DAYS_BACK:
            raise wrong(
                f"{value} is {back} days back, the season it belongs to is over",
                f"give the planting day of this season, at most {PLANTED_DAYS_BACK} days back",
            )
        return value


class DigForm(Form):
    """One dig card."""

    date: kind.Day
    wall_class: kind.WallClass
    plants: kind.Plants = 0
    crossing: kind.Roots | None = None
    held: kind.Roots | None = None
    pan_class: kind.PanClass = 0
    pan_depth_cm: kind.PanDepthCm | None = None
    seed_depth_cm: kind.SeedCm | None = None
    soil_moisture: kind.Moisture | None = None
    note: kind.NoteText = ""
    form_id: kind.FormId = ""

    @field_validator("date")
    @classmethod
    def _in_season(cls, value: dt.date, info: ValidationInfo) -> dt.date:
        today, planted = _known(info, "today"), _known(info, "planted")
        if today and value > today:
            raise wrong(f"{value} is in the future (today is {today})", "give the day of the dig")
        if planted and value < planted:
            raise wrong(f"{value} is before planting ({planted})", "dig after planting")
        if planted and value > planted + dt.timedelta(days=DIG_DAYS_AFTER_PLANTING):
            raise wrong(
                f"{value} is {(value - planted).days} days after planting ({planted})",
                f"a dig counts up to {DIG_DAYS_AFTER_PLANTING} days after planting",
            )
        return value
