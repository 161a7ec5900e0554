"""Accounts and how people come into them; outlines, photos, each field's present stand."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005_web"
down_revision = "0004_people"

MOMENT = sa.DateTime(timezone=True)
ROLES = "role IN ('adviser', 'grower', 'viewer')"
TAKE_OVER = (
    """
    INSERT INTO account (id, name) SELECT id, name FROM person
    WHERE id IN (SELECT COALESCE(adviser_id, grower_id) FROM field)
    """,
    "INSERT INTO member (account_id, person_id, role) SELECT id, id, 'adviser' FROM account",
    """
    INSERT INTO member (account_id, person_id, role)
    SELECT DISTINCT COALESCE(adviser_id, grower_id), grower_id, 'grower' FROM field
    WHERE COALESCE(adviser_id, grower_id) <> grower_id
    """,
    "UPDATE field SET account_id = COALESCE(adviser_id, grower_id)",
    # how each field's latest season stands; the next night puts it in its exact place
    """
    INSERT INTO standing
    (field_id, account_id, grower_id, season_id, crop, night, status, rung, place, changed)
    SELECT f.id, f.account_id, f.grower_id, s.id, s.crop, r.night,
    COALESCE(r.status, 'waiting'), r.rung,
    CASE WHEN r.status = 'watched' THEN 4.0 - r.rung ELSE 4.5 END, 0
    FROM field f JOIN season s ON s.field_id = f.id
    AND s.planted = (SELECT MAX(planted) FROM season WHERE field_id = f.id)
    LEFT JOIN risk r ON r.season_id = s.id
    AND r.night = (SELECT MAX(night) FROM risk WHERE season_id = s.id)
    """,
)


def upgrade() -> None:
    """Add the tables; every adviser on record gets an account, with their growers in it."""
    _accounts()
    _ways_in()
    _kept()
    _shown()
    with op.batch_alter_table("field") as batch:
        batch.add_column(sa.Column("account_id", sa.Integer))
    _take_over(op.get_bind())
    with op.batch_alter_table("field") as batch:
        batch.alter_column("account_id", existing_type=sa.Integer(), nullable=False)
        batch.create_foreign_key("fk_field_account_id_account", "account", ["account_id"], ["id"])
        batch.drop_constraint("uq_field_grower_id_name_key", type_="unique")
        batch.create_unique_constraint(
            "uq_field_account_id_grower_id_name_key", ["account_id", "grower_id", "name_key"]
        )
        batch.create_index("ix_field_grower_id_name_key", ["grower_id", "name_key"])


def _id() -> sa.Column[int]:
    return sa.Column("id", sa.Integer, primary_key=True)


def _must(name: str, kind: type[sa.types.TypeEngine[Any]]) -> sa.Column[Any]:
    return sa.Column(name, kind, nullable=False)


def _moment(name: str, *, nullable: bool = False) -> sa.Column[Any]:
    return sa.Column(name, MOMENT, nullable=nullable)


def _to(name: str, target: str, *, nullable: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, sa.ForeignKey(f"{target}.id"), nullable=nullable)


def _key_to(name: str, target: str) -> sa.Column[int]:
    return sa.Column(name, sa.Integer, sa.ForeignKey(f"{target}.id"), primary_key=True)


def _hash() -> sa.Column[str]:
    return sa.Column("key_hash", sa.Text, nullable=False, unique=True)


def _accounts() -> None:
    op.create_table("account", _id(), _must("name", sa.Text), _moment("made_at", nullable=True))
    op.create_table(
        "member",
        _key_to("account_id", "account"),
        _key_to("person_id", "person"),
        _must("role", sa.Text),
        sa.Index(None, "person_id"),
        sa.CheckConstraint(ROLES, name="role"),
    )
    op.create_table("operator", _key_to("person_id", "person"))


def _ways_in() -> None:
    op.create_table(
        "sign_in_link",
        _id(),
        _to("person_id", "person"),
        _moment("made_at"),
        _moment("ends_at"),
        _moment("used_at", nullable=True),
        sa.Index(None, "person_id", "made_at"),
    )
    op.create_table(
        "web_session",
        _id(),
        _hash(),
        _to("person_id", "person"),
        _to("account_id", "account", nullable=True),
        _moment("made_at"),
        _moment("seen_at"),
        _moment("ends_at"),
        _moment("ended_at", nullable=True),
        _must("agent", sa.Text),
        sa.Index(None, "person_id"),
    )
    op.create_table(
        "invitation",
        _id(),
        _to("account_id", "account"),
        _must("name", sa.Text),
        _must("email", sa.Text),
        _must("role", sa.Text),
        _to("made_by", "person"),
        _moment("made_at"),
        _moment("ends_at"),
        _moment("used_at", nullable=True),
        _moment("withdrawn_at", nullable=True),
        sa.Index(None, "account_id"),
        sa.CheckConstraint(ROLES, name="role"),
    )


def _kept() -> None:
    op.create_table(
        "api_token",
        _id(),
        _hash(),
        _must("hint", sa.Text),
        _must("name", sa.Text),
        _to("person_id", "person"),
        _to("account_id", "account"),
        _must("scopes", sa.Text),
        _moment("made_at"),
        _moment("ends_at"),
        _moment("used_at", nullable=True),
        _moment("ended_at", nullable=True),
        sa.Index(None, "account_id"),
    )
    op.create_table(
        "audit",
        _id(),
        _moment("at"),
        _to("account_id", "account", nullable=True),
        _to("person_id", "person", nullable=True),
        _must("way", sa.Text),
        _must("what", sa.Text),
        sa.Column("field_id", sa.Integer),
        _must("detail", sa.Text),
        sa.Index(None, "account_id", "id"),
    )
    op.create_table(
        "kept_answer",
        _id(),
        _to("token_id", "api_token"),
        _must("key", sa.Text),
        _must("request_hash", sa.Text),
        _moment("at"),
        _must("status", sa.Integer),
        _must("body", sa.LargeBinary),
        sa.UniqueConstraint("token_id", "key"),
    )


def _shown() -> None:
    op.create_table(
        "field_shape",
        _key_to("field_id", "field"),
        _must("shape", sa.Text),
        _must("area_ha", sa.Float),
    )
    op.create_table(
        "photo",
        _id(),
        _to("dig_id", "dig"),
        _must("form_id", sa.Text),
        _must("jpeg", sa.LargeBinary),
        _must("small", sa.LargeBinary),
        _must("width", sa.Integer),
        _must("height", sa.Integer),
        _moment("added_at"),
        sa.UniqueConstraint("dig_id", "form_id"),
    )
    op.create_table(
        "standing",
        _key_to("field_id", "field"),
        _to("account_id", "account"),
        _to("grower_id", "person"),
        _to("season_id", "season"),
        _must("crop", sa.Text),
        sa.Column("night", sa.Date),
        _must("status", sa.Text),
        sa.Column("rung", sa.Integer),
        _must("place", sa.Float),
        _must("changed", sa.Integer),
        sa.Index(None, "account_id", "place", "field_id"),
        sa.Index(None, "account_id", "grower_id", "place"),
        sa.Index(None, "season_id"),
    )
    op.create_table(
        "season_picture",
        _key_to("season_id", "season"),
        _must("night", sa.Date),
        _must("packed", sa.LargeBinary),
    )


def _take_over(conn: sa.Connection) -> None:
    """One account a lead, who is the field's adviser, or its grower where there is none."""
    for statement in TAKE_OVER:
        conn.execute(sa.text(statement))
    if conn.dialect.name == "postgresql":
        last = "SELECT setval(pg_get_serial_sequence('account', 'id'), MAX(id)) FROM account"
        conn.execute(sa.text(last))
