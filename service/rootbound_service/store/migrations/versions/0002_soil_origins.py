"""Each value of a soil with its own origin, and the answers of the soil services."""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0002_soil_origins"
down_revision = "0001_first_tables"

MOMENT = sa.DateTime(timezone=True)
NAMES = (
    "texture",
    "field_capacity",
    "wilting_point",
    "clay_pct",
    "organic_matter_pct",
    "profile_depth_m",
    "water_table_m",
)
USUAL_DEPTH_M = 1.5
"""What was stored until now where nobody gave a profile depth. [m]"""
EITHER = "1.5 m, entered or taken as usual before origins were kept"


def upgrade() -> None:
    """Add the tables and put what is stored into them."""
    with op.batch_alter_table("soil") as batch:
        batch.alter_column("profile_depth_m", existing_type=sa.Float(), nullable=True)
        batch.add_column(sa.Column("origins", sa.Text))
    _create_values()
    _create_answers()
    _take_over(op.get_bind())


def _create_values() -> None:
    op.create_table(
        "soil_value",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("field_id", sa.Integer, sa.ForeignKey("field.id"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.Column("source", sa.Text, nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("recorded_at", MOMENT),
        sa.Column("withdrawn", sa.Boolean, nullable=False),
        sa.CheckConstraint(
            "name IN (" + ", ".join(f"'{name}'" for name in NAMES) + ")", name="name"
        ),
    )
    op.create_index("ix_soil_value_field_id", "soil_value", ["field_id"])


def _create_answers() -> None:
    op.create_table(
        "soil_answer",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("field_id", sa.Integer, sa.ForeignKey("field.id"), nullable=False),
        sa.Column("asked_at", MOMENT, nullable=False),
        sa.Column("place", sa.Text, nullable=False),
        sa.Column("source", sa.Text),
        sa.Column("profile", sa.Text, nullable=False),
        sa.Column("reasons", sa.Text, nullable=False),
        sa.Column("retry_later", sa.Boolean, nullable=False),
        sa.Column("raw", sa.LargeBinary),
    )
    op.create_index("ix_soil_answer_field_id", "soil_answer", ["field_id"])
    op.create_index("ix_soil_answer_place", "soil_answer", ["place"])


def _take_over(conn: sa.Connection) -> None:
    """Give every stored value the origin of its soil.

    A profile of 1.5 m may have been entered or be the one taken then where nothing was
    given; it goes on counting, until a service knows better.
    """
    soil = sa.table(
        "soil",
        sa.column("field_id"),
        *map(sa.column, NAMES),
        sa.column("origin"),
        sa.column("origins"),
    )
    value = sa.table(
        "soil_value",
        *map(sa.column, ("field_id", "name", "value", "source", "origin", "recorded_at")),
        sa.column("withdrawn", sa.Boolean),
    )
    for row in conn.execute(sa.select(soil)).mappings().all():
        said = {
            name: ("assumed", EITHER)
            if name == "profile_depth_m" and row[name] == USUAL_DEPTH_M
            else ("hand", row["origin"])
            for name in NAMES
            if row[name] is not None
        }
        rows = [
            {
                "field_id": row["field_id"],
                "name": name,
                "value": json.dumps(row[name]),
                "source": source,
                "origin": origin,
                "withdrawn": False,
            }
            for name, (source, origin) in said.items()
        ]
        if rows:
            conn.execute(sa.insert(value), rows)
        origins = json.dumps({name: origin for name, (_, origin) in said.items()}, sort_keys=True)
        mine = soil.c.field_id == row["field_id"]
        conn.execute(sa.update(soil).where(mine).values(origins=origins))
