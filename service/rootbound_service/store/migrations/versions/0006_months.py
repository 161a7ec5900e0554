"""When a night was done for the first time, and on PostgreSQL the risk rows in months.

SQLite has no partitions; its risk table stays as it is.
"""

from __future__ import annotations

from datetime import date, timedelta

import sqlalchemy as sa
from alembic import op

revision = "0006_months"
down_revision = "0005_web"

APART = (
    "ALTER TABLE risk RENAME TO risk_whole",
    "ALTER TABLE risk_whole RENAME CONSTRAINT pk_risk TO pk_risk_whole",
    """
    CREATE TABLE risk (LIKE risk_whole INCLUDING DEFAULTS INCLUDING CONSTRAINTS)
    PARTITION BY RANGE (night)
    """,
    "ALTER TABLE risk ADD CONSTRAINT pk_risk PRIMARY KEY (season_id, night)",
    """
    ALTER TABLE risk ADD CONSTRAINT fk_risk_season_id_season
    FOREIGN KEY (season_id) REFERENCES season (id)
    """,
)
MONTHS = "SELECT DISTINCT date_trunc('month', night)::date FROM risk_whole ORDER BY 1"
TOGETHER = ("INSERT INTO risk SELECT * FROM risk_whole", "DROP TABLE risk_whole")


def upgrade() -> None:
    """Add the column and cut the table; every row stays."""
    op.add_column("run", sa.Column("first_finished_at", sa.DateTime(timezone=True)))
    op.execute("UPDATE run SET first_finished_at = finished_at")
    conn = op.get_bind()
    if conn.dialect.name != "postgresql":
        return
    for statement in APART:
        op.execute(statement)
    for month in conn.scalars(sa.text(MONTHS)).all():
        op.execute(_partition(month))
    for statement in TOGETHER:
        op.execute(statement)


def _partition(month: date) -> str:
    following = (month + timedelta(days=31)).replace(day=1)
    within = f"FROM ('{month}') TO ('{following}')"
    return f"CREATE TABLE risk_{month:%Y_%m} PARTITION OF risk FOR VALUES {within}"
