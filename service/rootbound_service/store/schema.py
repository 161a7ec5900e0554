"""The tables. A change here needs a new step in migrations/; a test compares the two."""

from __future__ import annotations

from typing import Any

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)
from sqlalchemy.types import TypeEngine

from rootbound_service.store.portable import PortableJSON, UTCDateTime

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def _id() -> Column[int]:
    return Column("id", Integer, primary_key=True)


def _to(name: str, target: str, *, nullable: bool = False) -> Column[int]:
    return Column(name, Integer, ForeignKey(f"{target}.id"), nullable=nullable)


def _key_to(name: str, target: str) -> Column[int]:
    return Column(name, Integer, ForeignKey(f"{target}.id"), primary_key=True)


def _must(name: str, kind: type[TypeEngine[Any]], *, unique: bool = False) -> Column[Any]:
    return Column(name, kind, nullable=False, unique=unique or None)


person = Table(
    "person",
    metadata,
    _id(),
    _must("name", Text),
    _must("email", Text),
    _must("email_key", Text, unique=True),  # the e-mail, case folded
    _must("role", Text),
    _must("units", Text),
    _must("time_zone", Text),
    CheckConstraint("role IN ('grower', 'adviser')", name="role"),
    CheckConstraint("units IN ('us', 'metric')", name="units"),
)

field = Table(
    "field",
    metadata,
    _id(),
    _to("grower_id", "person"),
    _to("adviser_id", "person", nullable=True),
    _must("name", Text),
    _must("name_key", Text),  # the name, case folded, with single spaces
    _must("lat", Float),
    _must("lon", Float),
    Column("elevation_m", Float),
    _must("time_zone", Text),
    _must("irrigated", Boolean),
    UniqueConstraint("grower_id", "name_key"),
    CheckConstraint("lat BETWEEN -90 AND 90", name="lat"),
    CheckConstraint("lon BETWEEN -180 AND 180", name="lon"),
)

soil = Table(
    "soil",
    metadata,
    _key_to("field_id", "field"),
    Column("texture", Text),
    Column("field_capacity", Float),
    Column("wilting_point", Float),
    Column("clay_pct", Float),
    Column("organic_matter_pct", Float),
    Column("profile_depth_m", Float),
    Column("water_table_m", Float),
    _must("origin", Text),
    Column("origins", PortableJSON),  # a sentence by the value's name
)
"""What counts for each field now; store/soil.py makes it anew from soil_value at each change."""

soil_value = Table(
    "soil_value",
    metadata,
    _id(),
    _to("field_id", "field"),
    _must("name", Text),
    _must("value", PortableJSON),
    _must("source", Text),  # hand, a service's short name, or assumed
    _must("origin", Text),
    Column("recorded_at", UTCDateTime),  # NULL: nobody kept the time
    _must("withdrawn", Boolean),  # from here on this source has no such value
    Index(None, "field_id"),
    CheckConstraint(
        "name IN ('texture', 'field_capacity', 'wilting_point', 'clay_pct', "
        "'organic_matter_pct', 'profile_depth_m', 'water_table_m')",
        name="name",
    ),
)
"""Everything anybody said of a field's soil: rows are added, never changed."""

soil_answer = Table(
    "soil_answer",
    metadata,
    _id(),
    _to("field_id", "field"),
    _must("asked_at", UTCDateTime),
    _must("place", Text),  # fields some 250 m apart share it
    Column("source", Text),  # NULL: none had an answer
    _must("profile", PortableJSON),
    _must("reasons", PortableJSON),  # of the sources that had none
    _must("retry_later", Boolean),
    Column("raw", LargeBinary),  # gzip of the answer as it came
    Index(None, "field_id"),
    Index(None, "place"),
)
"""What the soil services were asked for a field and what came of it."""

season = Table(
    "season",
    metadata,
    _id(),
    _to("field_id", "field"),
    _must("year", Integer),  # of planting: a field has one season a year
    _must("crop", Text),
    _must("planted", Date),
    _must("row_spacing_cm", Float),
    _must("seed_depth_cm", Float),
    Column("black_layer_gdd_f", Float),
    UniqueConstraint("field_id", "year"),
)

dig = Table(
    "dig",
    metadata,
    _id(),
    _to("season_id", "season"),
    Column("form_id", Text),  # NULL when the card had none
    _must("dug_on", Date),
    _must("wall_class", Integer),
    _must("plants", Integer),
    Column("crossing", Integer),
    Column("held", Integer),
    _must("pan_class", Integer),
    Column("pan_depth_cm", Float),
    Column("seed_depth_cm", Float),
    Column("soil_moisture", Text),
    _must("note", Text),
    UniqueConstraint("season_id", "form_id"),
    CheckConstraint("wall_class BETWEEN 0 AND 3", name="wall_class"),
    CheckConstraint("pan_class BETWEEN 0 AND 3", name="pan_class"),
)

run = Table(
    "run",
    metadata,
    Column("night", Date, primary_key=True),
    _must("started_at", UTCDateTime),
    Column("finished_at", UTCDateTime),
    _must("fields_ok", Integer),
    _must("fields_failed", Integer),
    _must("weather", Text),
)

risk = Table(
    "risk",
    metadata,
    _key_to("season_id", "season"),
    Column("night", Date, primary_key=True),
    _must("status", Text),
    Column("rung", Integer),
    Column("raw_rung", Integer),
    Column("free_rung", Integer),
    _must("nights_below", Integer),
    _must("nights_under_said", Integer),
    Column("said_rung", Integer),
    _must("reason", Text),
    _must("stage", Text),
    _must("gdd_f_total", Float),
    Column("water_in_reach_mm", Float),
    Column("free_water_mm", Float),
    _must("days_ahead_kind", Text),
    Column("days_ahead_median", Float),
    Column("days_ahead_low", Float),
    Column("days_ahead_high", Float),
    Column("chance_7", Float),
    Column("chance_14", Float),
    Column("stress_past_7", Float),
    Column("stress_season", Float),
    Column("reach", Float),
    Column("weather_through", Date),
    CheckConstraint("rung BETWEEN 0 AND 4", name="rung"),
)

note = Table(
    "note",
    metadata,
    _id(),
    _to("season_id", "season"),
    _must("night", Date),
    Column("from_rung", Integer),
    Column("to_rung", Integer),
    _must("reason", Text),
    _must("evidence", PortableJSON),
    _must("dedupe_key", Text, unique=True),
    Index(None, "season_id"),
    Index(None, "night"),
)

outbox = Table(
    "outbox",
    metadata,
    _id(),
    _must("dedupe_key", Text, unique=True),
    _must("kind", Text),
    _must("channel", Text),
    _to("person_id", "person", nullable=True),
    _must("to_address", Text),
    _must("to_name", Text),
    _must("subject", Text),
    _must("text", Text),
    _must("html", Text),
    _must("created_at", UTCDateTime),
    _must("available_at", UTCDateTime),
    Column("not_after", UTCDateTime),
    _must("priority", Integer),
    _must("thread_key", Text),
    _must("status", Text),
    _must("attempts", Integer),
    Column("claimed_by", Text),
    Column("claimed_until", UTCDateTime),
    Column("last_code", Integer),
    Column("last_error", Text),
    Column("provider_id", Text),
    Column("sent_at", UTCDateTime),
    Index(None, "status", "available_at"),
    Index(None, "thread_key"),
    CheckConstraint(
        "status IN ('pending', 'sending', 'sent', 'dead', 'expired', 'unknown')", name="status"
    ),
)

outbox_image = Table(
    "outbox_image",
    metadata,
    _key_to("outbox_id", "outbox"),
    Column("content_id", Text, primary_key=True),
    _must("png", LargeBinary),
)

outbox_note = Table(
    "outbox_note",
    metadata,
    _key_to("outbox_id", "outbox"),
    _key_to("note_id", "note"),
    Index(None, "note_id"),
)

delivery_attempt = Table(
    "delivery_attempt",
    metadata,
    _id(),
    _to("outbox_id", "outbox"),
    _must("number", Integer),
    _must("sender", Text),
    _must("at", UTCDateTime),
    _must("outcome", Text),
    Column("code", Integer),
    Column("error", Text),
    _must("lease_held", Boolean),  # false: the report came after another had taken over
    Index(None, "outbox_id"),
)

job_run = Table(
    "job_run",
    metadata,
    Column("job", Text, primary_key=True),
    Column("period", Text, primary_key=True),
    _must("claimed_at", UTCDateTime),
)
