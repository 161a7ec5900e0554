"""How people are reached and what they agreed to, what came back, and the archive of letters."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004_people"
down_revision = "0003_observations"

MOMENT = sa.DateTime(timezone=True)
STATUSES = ("pending", "sending", "sent", "dead", "expired", "unknown")
FURTHER = ("suppressed", "folded", "dropped")
BEFORE = "Enrolled with this address before consent was kept."


def upgrade() -> None:
    """Add the tables and columns; everybody on record becomes a contact by e-mail."""
    with op.batch_alter_table("person") as batch:
        batch.add_column(sa.Column("language", sa.Text, nullable=False, server_default="en"))
    with op.batch_alter_table("person") as batch:
        batch.alter_column("language", existing_type=sa.Text(), server_default=None)
    _contacts()
    _wishes()
    _outbox()
    _heard()
    _take_over(op.get_bind())


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


def _one_of(column: str, values: tuple[str, ...]) -> sa.CheckConstraint:
    listed = ", ".join(f"'{one}'" for one in values)
    return sa.CheckConstraint(f"{column} IN ({listed})", name=column)


def _contacts() -> None:
    op.create_table(
        "contact",
        _id(),
        _to("person_id", "person"),
        _must("channel", sa.Text),
        _must("address", sa.Text),
        _must("address_key", sa.Text),
        _must("notes", sa.Boolean),
        _must("least_rung", sa.Integer),
        sa.Column("digest_day", sa.Integer),
        sa.UniqueConstraint("person_id", "channel", "address_key"),
        sa.Index(None, "channel", "address_key"),
        _one_of("channel", ("email", "text")),
        sa.CheckConstraint("least_rung BETWEEN 0 AND 4", name="least_rung"),
        sa.CheckConstraint("digest_day BETWEEN 0 AND 6", name="digest_day"),
    )
    op.create_table("contact_field", _key_to("contact_id", "contact"), _key_to("field_id", "field"))
    op.create_table(
        "consent_event",
        _id(),
        _to("contact_id", "contact"),
        _must("kind", sa.Text),
        _moment("at", nullable=True),
        _must("how", sa.Text),
        _must("wording", sa.Text),
        _must("said", sa.Text),
        sa.Index(None, "contact_id"),
        _one_of("kind", ("given", "withdrawn", "restored")),
    )
    op.create_table(
        "suppression",
        _id(),
        _must("address_hash", sa.Text),
        _must("channel", sa.Text),
        _must("scope", sa.Text),
        _must("reason", sa.Text),
        _moment("at"),
        _must("lifted", sa.Boolean),
        sa.Index(None, "address_hash"),
        _one_of("scope", ("all", "note", "digest")),
    )


def _wishes() -> None:
    op.create_table(
        "silence",
        _id(),
        _to("person_id", "person"),
        _to("field_id", "field"),
        _must("until", sa.Date),
        _moment("at"),
        _must("how", sa.Text),
        sa.Index(None, "person_id", "field_id"),
    )
    op.create_table(
        "acknowledgement",
        _id(),
        _to("person_id", "person"),
        _to("season_id", "season"),
        _moment("at"),
        _must("how", sa.Text),
        sa.Index(None, "season_id"),
    )
    op.create_table(
        "field_person",
        _key_to("field_id", "field"),
        _key_to("person_id", "person"),
        _must("part", sa.Text),
        _one_of("part", ("second",)),
    )
    op.create_table(
        "feed_key",
        _id(),
        _to("person_id", "person"),
        sa.Column("key_hash", sa.Text, nullable=False, unique=True),
        _moment("made_at"),
        _moment("ended_at", nullable=True),
    )


def _outbox() -> None:
    with op.batch_alter_table("outbox") as batch:
        batch.drop_constraint(op.f("ck_outbox_status"), type_="check")
        batch.create_check_constraint("status", _listed("status", STATUSES + FURTHER))
        batch.add_column(sa.Column("contact_id", sa.Integer))
        batch.add_column(sa.Column("consent_id", sa.Integer))
        batch.add_column(sa.Column("quiet_zone", sa.Text, nullable=False, server_default=""))
        batch.add_column(sa.Column("sent_headers", sa.Text))
        batch.add_column(sa.Column("sent_local", sa.Text))
        batch.create_foreign_key(None, "contact", ["contact_id"], ["id"])
        batch.create_foreign_key(None, "consent_event", ["consent_id"], ["id"])
    with op.batch_alter_table("outbox") as batch:
        batch.alter_column("quiet_zone", existing_type=sa.Text(), server_default=None)
    op.create_index("ix_outbox_contact_id_created_at", "outbox", ["contact_id", "created_at"])


def _listed(column: str, values: tuple[str, ...]) -> str:
    listed = ", ".join(f"'{one}'" for one in values)
    return f"{column} IN ({listed})"


def _heard() -> None:
    op.create_table(
        "receipt",
        _id(),
        _to("outbox_id", "outbox"),
        _moment("at"),
        _must("state", sa.Text),
        sa.Column("code", sa.Text),
        _must("said", sa.Text),
        sa.Index(None, "outbox_id"),
        _one_of("state", ("delivered", "delayed", "failed", "unknown")),
    )
    op.create_table(
        "inbound",
        _id(),
        _must("channel", sa.Text),
        _must("provider_id", sa.Text),
        _moment("received_at"),
        _to("contact_id", "contact", nullable=True),
        _must("address_hash", sa.Text),
        _must("body", sa.Text),
        _must("meaning", sa.Text),
        _must("answer", sa.Text),
        sa.UniqueConstraint("channel", "provider_id"),
    )
    op.create_table(
        "channel_state",
        sa.Column("channel", sa.Text, primary_key=True),
        _must("failures", sa.Integer),
        _moment("open_until", nullable=True),
        _must("why", sa.Text),
        _moment("changed_at"),
    )
    op.create_table(
        "digest",
        _id(),
        _to("person_id", "person"),
        _must("week", sa.Text),
        _must("night", sa.Date),
        _moment("written_at"),
        _must("page", sa.LargeBinary),
        sa.UniqueConstraint("person_id", "week"),
    )
    op.create_table(
        "heartbeat",
        sa.Column("name", sa.Text, primary_key=True),
        _moment("at"),
        _must("detail", sa.Text),
    )


def _take_over(conn: sa.Connection) -> None:
    """Go on telling everybody on record by e-mail, as until now."""
    person = sa.table("person", sa.column("id"), sa.column("email"), sa.column("email_key"))
    contact = sa.table(
        "contact",
        *map(sa.column, ("id", "person_id", "channel", "address", "address_key")),
        sa.column("notes", sa.Boolean),
        *map(sa.column, ("least_rung", "digest_day")),
    )
    event = sa.table(
        "consent_event", *map(sa.column, ("contact_id", "kind", "at", "how", "wording", "said"))
    )
    known = sa.select(
        person.c.id,
        sa.literal("email"),
        person.c.email,
        person.c.email_key,
        sa.true(),
        sa.literal(0),
        sa.literal(0),
    ).order_by(person.c.id)
    names = ("person_id", "channel", "address", "address_key", "notes", "least_rung", "digest_day")
    conn.execute(sa.insert(contact).from_select(names, known))
    given = sa.select(
        contact.c.id,
        sa.literal("given"),
        sa.null(),
        sa.literal("enrolment"),
        sa.literal(BEFORE),
        sa.literal(""),
    )
    conn.execute(sa.insert(event).from_select([one.name for one in event.columns], given))
