"""The kinds of value a form has: each reads text, TOML and JSON alike and says what it wanted."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from rootbound_service.intake import limits as limit
from rootbound_service.intake.cells import (
    read_day,
    read_number,
    read_text,
    read_whole,
    read_word,
    read_yes_no,
)
from rootbound_service.intake.limits import Limit
from rootbound_service.intake.people import WANTED as PERSON_WANTED
from rootbound_service.intake.people import read_person


def _number(within: Limit) -> BeforeValidator:
    return BeforeValidator(lambda value: read_number(value, within))


def _whole(within: Limit) -> BeforeValidator:
    return BeforeValidator(lambda value: read_whole(value, within))


def _texture(value: object) -> str:
    from rootbound_rules.water.soil import texture_names  # compiled rules: only when needed

    return read_word(value, "soil texture", texture_names())


def _crop(value: object) -> str:
    from rootbound_rules.crop.table import crop_names  # compiled rules: only when needed

    # Maize is corn to those who grow it in North America.
    word = "maize" if str(value).strip().lower() == "corn" else value
    return read_word(word, "crop", tuple(crop_names()))


def _choice(noun: str, *words: str) -> BeforeValidator:
    return BeforeValidator(lambda value: read_word(value, noun, words))


def _text(noun: str, longest: int, *, lines: bool = False) -> BeforeValidator:
    return BeforeValidator(lambda value: read_text(value, noun, longest, lines=lines))


def _say(within: Limit) -> object:
    return Field(description=within.wanted())


Name = Annotated[
    str,
    _text("a field name", limit.NAME_LENGTH),
    Field(description="give the field a name of 1 to 80 characters"),
]
EitherDegrees = Annotated[float, _number(limit.EITHER_DEGREES), _say(limit.LATITUDE)]
Latitude = Annotated[float, _number(limit.LATITUDE), _say(limit.LATITUDE)]
Longitude = Annotated[float, _number(limit.LONGITUDE), _say(limit.LONGITUDE)]
ElevationM = Annotated[float, _number(limit.ELEVATION_M), _say(limit.ELEVATION_M)]
RowCm = Annotated[float, _number(limit.ROW_CM), _say(limit.ROW_CM)]
RowIn = Annotated[float, _number(limit.ROW_IN), _say(limit.ROW_IN)]
BlackLayer = Annotated[float, _number(limit.BLACK_LAYER_GDD_F), _say(limit.BLACK_LAYER_GDD_F)]
SeedCm = Annotated[float, _number(limit.SEED_CM), _say(limit.SEED_CM)]
SeedIn = Annotated[float, _number(limit.SEED_IN), _say(limit.SEED_IN)]
WaterContent = Annotated[float, _number(limit.WATER_CONTENT), _say(limit.WATER_CONTENT)]
ClayPct = Annotated[float, _number(limit.CLAY_PCT), _say(limit.CLAY_PCT)]
OrganicPct = Annotated[float, _number(limit.ORGANIC_MATTER_PCT), _say(limit.ORGANIC_MATTER_PCT)]
ProfileM = Annotated[float, _number(limit.PROFILE_M), _say(limit.PROFILE_M)]
WaterTableM = Annotated[float, _number(limit.WATER_TABLE_M), _say(limit.WATER_TABLE_M)]
WallClass = Annotated[int, _whole(limit.WALL_CLASS), _say(limit.WALL_CLASS)]
PanClass = Annotated[int, _whole(limit.PAN_CLASS), _say(limit.PAN_CLASS)]
Plants = Annotated[int, _whole(limit.PLANTS), _say(limit.PLANTS)]
Roots = Annotated[int, _whole(limit.ROOTS), _say(limit.ROOTS)]
PanDepthCm = Annotated[float, _number(limit.PAN_DEPTH_CM), _say(limit.PAN_DEPTH_CM)]
Day = Annotated[date, BeforeValidator(read_day), Field(description="give the day, as 2026-05-04")]
YesNo = Annotated[bool, BeforeValidator(read_yes_no), Field(description="write yes or no")]
Texture = Annotated[str, BeforeValidator(_texture), Field(description="name a soil texture")]
Crop = Annotated[str, BeforeValidator(_crop), Field(description="name a crop")]
NameAndAddress = Annotated[
    tuple[str, str], BeforeValidator(read_person), Field(description=PERSON_WANTED)
]
UnitSystem = Annotated[Literal["us", "metric"], _choice("unit system", "us", "metric")]
Moisture = Annotated[
    Literal["dry", "moist", "wet"], _choice("soil moisture", "dry", "moist", "wet")
]
NoteText = Annotated[str, _text("a note", limit.NOTE_LENGTH, lines=True)]
FormId = Annotated[str, _text("a form id", limit.NAME_LENGTH)]
