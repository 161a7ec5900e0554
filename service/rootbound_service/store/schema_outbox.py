"""The tables of what is sent: the outbox, its images and notes, and every attempt."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
)

from rootbound_service.store.portable import UTCDateTime
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to

outbox = Table(
    "outbox",
    metadata,
    own_id(),
    must("dedupe_key", Text, unique=True),
    must("kind", Text),
    must("channel", Text),
    to("person_id", "person", nullable=True),
    must("to_address", Text),
    must("to_name", Text),
    must("subject", Text),
    must("text", Text),
    must("html", Text),
    must("created_at", UTCDateTime),
    must("available_at", UTCDateTime),
    Column("not_after", UTCDateTime),
    must("priority", Integer),
    must("thread_key", Text),
    must("status", Text),
    must("attempts", Integer),
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
    key_to("outbox_id", "outbox"),
    Column("content_id", Text, primary_key=True),
    must("png", LargeBinary),
)

outbox_note = Table(
    "outbox_note",
    metadata,
    key_to("outbox_id", "outbox"),
    key_to("note_id", "note"),
    Index(None, "note_id"),
)

delivery_attempt = Table(
    "delivery_attempt",
    metadata,
    own_id(),
    to("outbox_id", "outbox"),
    must("number", Integer),
    must("sender", Text),
    must("at", UTCDateTime),
    must("outcome", Text),
    Column("code", Integer),
    Column("error", Text),
    must("lease_held", Boolean),  # false: the report came after another had taken over
    Index(None, "outbox_id"),
)
