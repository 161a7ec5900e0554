"""What people see and do on a field, the weather notes rest on, and what the ladder remembers."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003_observations"
down_revision = "0002_soil_origins"

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Add the tables and columns; what is stored stays as it is."""
    _create_observations()
    op.create_table(
        "kept_weather",
        sa.Column("fingerprint", sa.Text, primary_key=True),
        sa.Column("kept_at", MOMENT, nullable=False),
        sa.Column("packed", sa.LargeBinary, nullable=False),
    )
    with op.batch_alter_table("dig") as batch:
        batch.add_column(sa.Column("by", sa.Text))
        batch.add_column(sa.Column("recorded_at", MOMENT))
    with op.batch_alter_table("risk") as batch:
        batch.add_column(sa.Column("changed_on", sa.Date))
        batch.add_column(
            sa.Column("said_free", sa.Boolean, nullable=False, server_default=sa.false())
        )
        batch.add_column(sa.Column("detail", sa.Text))
    with op.batch_alter_table("risk") as batch:
        batch.alter_column("said_free", existing_type=sa.Boolean(), server_default=None)


def _create_observations() -> None:
    op.create_table(
        "observation",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("season_id", sa.Integer, sa.ForeignKey("season.id"), nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("day", sa.Date, nullable=False),
        sa.Column("value", sa.Float),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("recorded_at", MOMENT, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("form_id", sa.Text),
        sa.Column("withdraws", sa.Integer, sa.ForeignKey("observation.id")),
        sa.UniqueConstraint("season_id", "form_id"),
        sa.CheckConstraint("kind IN ('rain', 'rolled', 'irrigation', 'harvest')", name="kind"),
    )
