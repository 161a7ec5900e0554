"""From a stored field to the values the rules compute with."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.season.values import FieldSeason
from rootbound_service.to_rules import dig_of, soil_of

if TYPE_CHECKING:
    from rootbound_service.records import FieldRecord


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
