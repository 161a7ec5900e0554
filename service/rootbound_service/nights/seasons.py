"""From a stored field to the values the rules compute with."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.season.values import Dig, FieldSeason, Soil
from rootbound_rules.water.soil import soil_from_numbers, soil_from_texture
from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from rootbound_service.records import DigRecord, FieldRecord, SoilRecord


def soil_of(record: SoilRecord) -> Soil:
    """Soil of a field; a missing number follows from the texture.

    Parameters
    ----------
    record
        As entered or mapped.

    Raises
    ------
    RefusedInput
        If neither a texture nor both water contents are known.
    """
    if record.field_capacity is not None and record.wilting_point is not None:
        return soil_from_numbers(
            record.field_capacity,
            record.wilting_point,
            record.clay_pct,
            record.organic_matter_pct,
            record.profile_depth_m,
            record.water_table_m,
            record.texture,
        )
    if record.texture is None:
        wanted = "give a texture class, or field capacity and wilting point"
        raise RefusedInput((Problem("soil", "nothing is known of it", wanted),))
    return soil_from_texture(
        record.texture,
        record.organic_matter_pct,
        record.clay_pct,
        record.profile_depth_m,
        record.water_table_m,
    )


def dig_of(record: DigRecord) -> Dig:
    """One dig card in the rules' terms."""
    return Dig(
        dug_on=record.dug_on,
        wall_class=record.wall_class,
        plants=record.plants,
        crossing=record.crossing,
        held=record.held,
        pan_class=record.pan_class,
        pan_depth_cm=record.pan_depth_cm,
    )


def season_of(record: FieldRecord, elevation_m: float, night: date) -> FieldSeason:
    """One field's season as it was known on a night: digs of later days do not count yet.

    Parameters
    ----------
    record
        The stored field.
    elevation_m
        Where the field has none of its own, that of its weather cell. [m]
    night
        The night.
    """
    return FieldSeason(
        lat=record.lat,
        elevation_m=record.elevation_m if record.elevation_m is not None else elevation_m,
        planted=record.planted,
        soil=soil_of(record.soil),
        crop=record.crop,
        row_spacing_cm=record.row_spacing_cm,
        seed_depth_cm=record.seed_depth_cm,
        black_layer_gdd_f=record.black_layer_gdd_f,
        digs=tuple(dig_of(dig) for dig in record.digs if dig.dug_on <= night),
    )
