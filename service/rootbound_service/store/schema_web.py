"""The tables of what the pages show: outlines, photos, and each field's present stand."""

from __future__ import annotations

from sqlalchemy import Column, Date, Float, Index, Integer, LargeBinary, Table, Text
from sqlalchemy.schema import UniqueConstraint

from rootbound_service.store.portable import PortableJSON, UTCDateTime
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to

field_shape = Table(
    "field_shape",
    metadata,
    key_to("field_id", "field"),
    must("shape", PortableJSON),  # a GeoJSON Polygon
    must("area_ha", Float),
)
"""Outlines of the fields that were drawn or uploaded."""

photo = Table(
    "photo",
    metadata,
    own_id(),
    to("dig_id", "dig"),
    must("form_id", Text),  # makes a repeated submission harmless
    must("jpeg", LargeBinary),  # made anew from what came: no place, no camera, bounded
    must("small", LargeBinary),
    must("width", Integer),
    must("height", Integer),
    must("added_at", UTCDateTime),
    UniqueConstraint("dig_id", "form_id"),
)

standing = Table(
    "standing",
    metadata,
    key_to("field_id", "field"),
    to("account_id", "account"),
    to("grower_id", "person"),
    to("season_id", "season"),
    must("crop", Text),
    Column("night", Date),  # of the risk row that counts; NULL: before the first night
    must("status", Text),
    Column("rung", Integer),
    must("place", Float),  # in the order of urgency, least first
    must("changed", Integer),  # counts whatever changed on the field, so that pages may be kept
    Index(None, "account_id", "place", "field_id"),
    Index(None, "account_id", "grower_id", "place"),
    Index(None, "season_id"),
)
"""How each field stands now: what lists are sorted by, made anew from season and risk."""

season_picture = Table(
    "season_picture",
    metadata,
    key_to("season_id", "season"),
    must("night", Date),
    must("packed", LargeBinary),
)
"""A season day by day as last computed, for its picture; every night makes it anew."""
