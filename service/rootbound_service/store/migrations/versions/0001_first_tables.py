"""The first tables.

Written out, not taken from schema.py: that one goes on changing, this step does not.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.types import TypeEngine

revision = "0001_first_tables"
down_revision = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Create everything."""
    _people()
    _seasons()
    _nights()
    _outbox()
    _bookkeeping()


def _id() -> sa.Column[int]:
    return sa.Column("id", sa.Integer, primary_key=True)


def _to(name: str, target: str, *, nullable: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, sa.ForeignKey(f"{target}.id"), nullable=nullable)


def _key_to(name: str, target: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, sa.ForeignKey(f"{target}.id"), primary_key=True)


def _must(
    name: str, kind: TypeEngine[Any] | type[TypeEngine[Any]], *, unique: bool = False
) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=False, unique=unique or None)


def _people() -> None:
    op.create_table(
        "person",
        _id(),
        _must("name", sa.Text),
        _must("email", sa.Text),
        _must("email_key", sa.Text, unique=True),  # the e-mail, case folded
        _must("role", sa.Text),
        _must("units", sa.Text),
        _must("time_zone", sa.Text),
        sa.CheckConstraint("role IN ('grower', 'adviser')", name="role"),
        sa.CheckConstraint("units IN ('us', 'metric')", name="units"),
    )
    op.create_table(
        "field",
        _id(),
        _to("grower_id", "person"),
        _to("adviser_id", "person", nullable=True),
        _must("name", sa.Text),
        _must("name_key", sa.Text),  # the name, case folded, with single spaces
        _must("lat", sa.Float),
        _must("lon", sa.Float),
        sa.Column("elevation_m", sa.Float),
        _must("time_zone", sa.Text),
        _must("irrigated", sa.Boolean),
        sa.UniqueConstraint("grower_id", "name_key"),
        sa.CheckConstraint("lat BETWEEN -90 AND 90", name="lat"),
        sa.CheckConstraint("lon BETWEEN -180 AND 180", name="lon"),
    )
    op.create_table(
        "soil",
        _key_to("field_id", "field"),
        sa.Column("texture", sa.Text),
        sa.Column("field_capacity", sa.Float),
        sa.Column("wilting_point", sa.Float),
        sa.Column("clay_pct", sa.Float),
        sa.Column("organic_matter_pct", sa.Float),
        _must("profile_depth_m", sa.Float),
        sa.Column("water_table_m", sa.Float),
        _must("origin", sa.Text),
    )


def _seasons() -> None:
    op.create_table(
        "season",
        _id(),
        _to("field_id", "field"),
        _must("year", sa.Integer),  # of planting: a field has one season a year
        _must("crop", sa.Text),
        _must("planted", sa.Date),
        _must("row_spacing_cm", sa.Float),
        _must("seed_depth_cm", sa.Float),
        sa.Column("black_layer_gdd_f", sa.Float),
        sa.UniqueConstraint("field_id", "year"),
    )
    op.create_table(
        "dig",
        _id(),
        _to("season_id", "season"),
        sa.Column("form_id", sa.Text),  # NULL when the card had none
        _must("dug_on", sa.Date),
        _must("wall_class", sa.Integer),
        _must("plants", sa.Integer),
        sa.Column("crossing", sa.Integer),
        sa.Column("held", sa.Integer),
        _must("pan_class", sa.Integer),
        sa.Column("pan_depth_cm", sa.Float),
        sa.Column("seed_depth_cm", sa.Float),
        sa.Column("soil_moisture", sa.Text),
        _must("note", sa.Text),
        sa.UniqueConstraint("season_id", "form_id"),
        sa.CheckConstraint("wall_class BETWEEN 0 AND 3", name="wall_class"),
        sa.CheckConstraint("pan_class BETWEEN 0 AND 3", name="pan_class"),
    )


def _nights() -> None:
    op.create_table(
        "run",
        sa.Column("night", sa.Date, primary_key=True),
        _must("started_at", MOMENT),
        sa.Column("finished_at", MOMENT),
        _must("fields_ok", sa.Integer),
        _must("fields_failed", sa.Integer),
        _must("weather", sa.Text),
    )
    op.create_table(
        "risk",
        _key_to("season_id", "season"),
        sa.Column("night", sa.Date, primary_key=True),
        _must("status", sa.Text),
        sa.Column("rung", sa.Integer),
        sa.Column("raw_rung", sa.Integer),
        sa.Column("free_rung", sa.Integer),
        _must("nights_below", sa.Integer),
        _must("nights_under_said", sa.Integer),
        sa.Column("said_rung", sa.Integer),
        _must("reason", sa.Text),
        _must("stage", sa.Text),
        _must("gdd_f_total", sa.Float),
        sa.Column("water_in_reach_mm", sa.Float),
        sa.Column("free_water_mm", sa.Float),
        _must("days_ahead_kind", sa.Text),
        sa.Column("days_ahead_median", sa.Float),
        sa.Column("days_ahead_low", sa.Float),
        sa.Column("days_ahead_high", sa.Float),
        sa.Column("chance_7", sa.Float),
        sa.Column("chance_14", sa.Float),
        sa.Column("stress_past_7", sa.Float),
        sa.Column("stress_season", sa.Float),
        sa.Column("reach", sa.Float),
        sa.Column("weather_through", sa.Date),
        sa.CheckConstraint("rung BETWEEN 0 AND 4", name="rung"),
    )
    op.create_table(
        "note",
        _id(),
        _to("season_id", "season"),
        _must("night", sa.Date),
        sa.Column("from_rung", sa.Integer),
        sa.Column("to_rung", sa.Integer),
        _must("reason", sa.Text),
        _must("evidence", sa.Text),
        _must("dedupe_key", sa.Text, unique=True),
        sa.Index(None, "season_id"),
        sa.Index(None, "night"),
    )


def _outbox() -> None:
    op.create_table(
        "outbox",
        _id(),
        _must("dedupe_key", sa.Text, unique=True),
        _must("kind", sa.Text),
        _must("channel", sa.Text),
        _to("person_id", "person", nullable=True),
        _must("to_address", sa.Text),
        _must("to_name", sa.Text),
        _must("subject", sa.Text),
        _must("text", sa.Text),
        _must("html", sa.Text),
        _must("created_at", MOMENT),
        _must("available_at", MOMENT),
        sa.Column("not_after", MOMENT),
        _must("priority", sa.Integer),
        _must("thread_key", sa.Text),
        _must("status", sa.Text),
        _must("attempts", sa.Integer),
        sa.Column("claimed_by", sa.Text),
        sa.Column("claimed_until", MOMENT),
        sa.Column("last_code", sa.Integer),
        sa.Column("last_error", sa.Text),
        sa.Column("provider_id", sa.Text),
        sa.Column("sent_at", MOMENT),
        sa.Index(None, "status", "available_at"),
        sa.Index(None, "thread_key"),
        sa.CheckConstraint(
            "status IN ('pending', 'sending', 'sent', 'dead', 'expired', 'unknown')", name="status"
        ),
    )
    op.create_table(
        "outbox_image",
        _key_to("outbox_id", "outbox"),
        sa.Column("content_id", sa.Text, primary_key=True),
        _must("png", sa.LargeBinary),
    )
    op.create_table(
        "outbox_note",
        _key_to("outbox_id", "outbox"),
        _key_to("note_id", "note"),
        sa.Index(None, "note_id"),
    )


def _bookkeeping() -> None:
    op.create_table(
        "delivery_attempt",
        _id(),
        _to("outbox_id", "outbox"),
        _must("number", sa.Integer),
        _must("sender", sa.Text),
        _must("at", MOMENT),
        _must("outcome", sa.Text),
        sa.Column("code", sa.Integer),
        sa.Column("error", sa.Text),
        _must("lease_held", sa.Boolean),  # false: the report came after another had taken over
        sa.Index(None, "outbox_id"),
    )
    op.create_table(
        "job_run",
        sa.Column("job", sa.Text, primary_key=True),
        sa.Column("period", sa.Text, primary_key=True),
        _must("claimed_at", MOMENT),
    )
