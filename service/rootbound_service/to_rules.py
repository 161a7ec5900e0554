"""Stored soil and digs as the values the rules compute with."""

from __future__ import annotations

from rootbound_rules.season.values import Dig, Soil
from rootbound_rules.water.soil import soil_from_numbers, soil_from_texture
from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.records import DigRecord, SoilRecord


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
        wanted = (
            "give a texture class, or field capacity and wilting point, "
            "or have it fetched: rootbound soil FIELD --fetch"
        )
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
