"""The tables of what is sent: the outbox, its images and notes, and every attempt."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
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
    to("contact_id", "contact", nullable=True),
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
    must("quiet_zone", Text),  # time zone whose nights it waits out; empty: it goes at any hour
    must("status", Text),
    must("attempts", Integer),
    Column("claimed_by", Text),
    Column("claimed_until", UTCDateTime),
    Column("last_code", Integer),
    Column("last_error", Text),
    Column("provider_id", Text),
    Column("sent_at", UTCDateTime),
    Column("sent_headers", Text),  # with subject, text, html and images: the message as sent
    Column("sent_local", Text),  # what the reader's clock said then
    to("consent_id", "consent_event", nullable=True),  # what they had agreed to then
    Index(None, "status", "available_at"),
    Index(None, "contact_id", "created_at"),
    Index(None, "thread_key"),
    CheckConstraint(
        "status IN ('pending', 'sending', 'sent', 'dead', 'expired', 'unknown', "
        "'suppressed', 'folded', 'dropped')",
        name="status",
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

receipt = Table(
    "receipt",
    metadata,
    own_id(),
    to("outbox_id", "outbox"),
    must("at", UTCDateTime),
    must("state", Text),
    Column("code", Text),  # RFC 3463 status, or what the gateway calls it
    must("said", Text),
    Index(None, "outbox_id"),
    CheckConstraint("state IN ('delivered', 'delayed', 'failed', 'unknown')", name="state"),
)
"""What was heard of a message after it was handed over: delivery receipts and bounces."""

inbound = Table(
    "inbound",
    metadata,
    own_id(),
    must("channel", Text),
    must("provider_id", Text),  # the same message told twice is one
    must("received_at", UTCDateTime),
    to("contact_id", "contact", nullable=True),
    must("address_hash", Text),
    must("body", Text),
    must("meaning", Text),
    must("answer", Text),  # what was answered, empty: nothing
    UniqueConstraint("channel", "provider_id"),
)
"""What people wrote back: rows are added, never changed."""

channel_state = Table(
    "channel_state",
    metadata,
    Column("channel", Text, primary_key=True),
    must("failures", Integer),  # in a row
    Column("open_until", UTCDateTime),  # nothing is sent before; NULL: it works
    must("why", Text),
    must("changed_at", UTCDateTime),
)
"""The circuit breaker of each channel."""

digest = Table(
    "digest",
    metadata,
    own_id(),
    to("person_id", "person"),
    must("week", Text),  # as 2026-W29
    must("night", Date),
    must("written_at", UTCDateTime),
    must("page", LargeBinary),  # gzip of the page as it was written
    UniqueConstraint("person_id", "week"),
)
"""The archive of weekly letters, each a page with all fields."""
