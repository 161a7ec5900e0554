"""The tables of the nights: what each found and told, what it rested on, what ran and when."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
)

from rootbound_service.store.portable import PortableJSON, UTCDateTime
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to

run = Table(
    "run",
    metadata,
    Column("night", Date, primary_key=True),
    must("started_at", UTCDateTime),
    Column("finished_at", UTCDateTime),
    must("fields_ok", Integer),
    must("fields_failed", Integer),
    must("weather", Text),
    Column("first_finished_at", UTCDateTime),  # kept when the night is run again
)

risk = Table(
    "risk",
    metadata,
    key_to("season_id", "season"),
    Column("night", Date, primary_key=True),
    must("status", Text),
    Column("rung", Integer),
    Column("raw_rung", Integer),
    Column("free_rung", Integer),
    must("nights_below", Integer),
    must("nights_under_said", Integer),
    Column("said_rung", Integer),
    must("reason", Text),
    must("stage", Text),
    must("gdd_f_total", Float),
    Column("water_in_reach_mm", Float),
    Column("free_water_mm", Float),
    must("days_ahead_kind", Text),
    Column("days_ahead_median", Float),
    Column("days_ahead_low", Float),
    Column("days_ahead_high", Float),
    Column("chance_7", Float),
    Column("chance_14", Float),
    Column("stress_past_7", Float),
    Column("stress_season", Float),
    Column("reach", Float),
    Column("weather_through", Date),
    Column("changed_on", Date),
    must("said_free", Boolean),
    Column("detail", PortableJSON),
    CheckConstraint("rung BETWEEN 0 AND 4", name="rung"),
    postgresql_partition_by="RANGE (night)",  # risk_months.py makes the partitions
)

note = Table(
    "note",
    metadata,
    own_id(),
    to("season_id", "season"),
    must("night", Date),
    Column("from_rung", Integer),
    Column("to_rung", Integer),
    must("reason", Text),
    must("evidence", PortableJSON),
    must("dedupe_key", Text, unique=True),
    Index(None, "season_id"),
    Index(None, "night"),
)

kept_weather = Table(
    "kept_weather",
    metadata,
    Column("fingerprint", Text, primary_key=True),
    must("kept_at", UTCDateTime),
    must("packed", LargeBinary),
)
"""Past years of weather that notes rest on, each once; evidence names the fingerprint."""

job_run = Table(
    "job_run",
    metadata,
    Column("job", Text, primary_key=True),
    Column("period", Text, primary_key=True),
    must("claimed_at", UTCDateTime),
)

heartbeat = Table(
    "heartbeat",
    metadata,
    Column("name", Text, primary_key=True),  # of the process and its job
    must("at", UTCDateTime),
    must("detail", Text),
)
"""When each part of the service was last seen alive."""
