"""The seasons of a year, put together from the store for judging."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_rules.crop.words import crop_words
from rootbound_service.nights.pictures import SeasonPicture, unpacked_picture
from rootbound_service.nights.season_end import season_end
from rootbound_service.nights.season_end_days import days_of
from rootbound_service.nights.season_end_shapes import Days, SeasonEnd, SeasonPast
from rootbound_service.store.season_pictures import pictures_of
from rootbound_service.store.seasons_past import StoredSeason, seasons_past

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import Connection


def ends_of(conn: Connection, year: int, fields: Sequence[int]) -> list[SeasonEnd]:
    """Judge the seasons of one year on some fields.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    year
        Of planting.
    fields
        Those that the reader may see.
    """
    stored = seasons_past(conn, year, fields)
    packed = pictures_of(conn, [one.season_id for one in stored])
    return [season_end(_past(one, packed.get(one.season_id))) for one in stored]


def _past(one: StoredSeason, packed: bytes | None) -> SeasonPast:
    picture = unpacked_picture(packed) if packed else None
    yields = [it.value for it in one.seen if it.kind == "harvest" and it.value is not None]
    return SeasonPast(
        season_id=one.season_id,
        field_name=one.field_name,
        grower=one.grower,
        crop=one.crop,
        planted=one.planted,
        days=_days(picture),
        notes=one.notes,
        seen=one.seen,
        digs=one.digs,
        rain_mm=_rain(picture),
        silk=_stage(picture, one.crop, "critical"),
        black_layer=_stage(picture, one.crop, "mature"),
        yield_t_ha=yields[-1] if yields else None,
        irrigated=one.irrigated,
        rung_last=one.risk.rung if one.risk else None,
    )


def _days(picture: SeasonPicture | None) -> Days:
    if picture is None:
        return Days({}, {})
    return days_of(picture.series.dates[0], picture.held_stress, picture.free_stress)


def _rain(picture: SeasonPicture | None) -> dict[date, float]:
    if picture is None:
        return {}
    first = picture.series.dates[0]
    rain = picture.series.rain_mm
    return {first + timedelta(days=i): float(mm) for i, mm in enumerate(rain)}


def _stage(picture: SeasonPicture | None, crop: str, which: str) -> date | None:
    """The day of silk or of black layer, if it has come."""
    if picture is None:
        return None
    words = crop_words(crop)
    critical = words.stages[words.keys.index(words.critical)]
    name = critical if which == "critical" else words.mature
    last = picture.series.dates[-1]
    return next((day for stage, day in picture.stages if stage == name and day <= last), None)
