"""The tables of access: accounts, who may do what in them, how they come in, what they did."""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

from rootbound_service.store.portable import PortableJSON, UTCDateTime
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to

ROLES = "role IN ('adviser', 'grower', 'viewer')"

account = Table("account", metadata, own_id(), must("name", Text), Column("made_at", UTCDateTime))
"""Who shares fields: an adviser's business, or a grower alone. Nothing is seen across it."""

member = Table(
    "member",
    metadata,
    key_to("account_id", "account"),
    key_to("person_id", "person"),
    must("role", Text),
    Index(None, "person_id"),
    CheckConstraint(ROLES, name="role"),
)
"""adviser: all fields, everything; viewer: all fields, looks on; grower: their own fields."""

operator = Table("operator", metadata, key_to("person_id", "person"))
"""Who runs the service: sees how it does, and no field."""

sign_in_link = Table(
    "sign_in_link",
    metadata,
    own_id(),
    to("person_id", "person"),
    must("made_at", UTCDateTime),
    must("ends_at", UTCDateTime),
    Column("used_at", UTCDateTime),
    Index(None, "person_id", "made_at"),
)

web_session = Table(
    "web_session",
    metadata,
    own_id(),
    must("key_hash", Text, unique=True),  # the key itself stands in the cookie alone
    to("person_id", "person"),
    to("account_id", "account", nullable=True),  # NULL: an operator without an account
    must("made_at", UTCDateTime),
    must("seen_at", UTCDateTime),
    must("ends_at", UTCDateTime),
    Column("ended_at", UTCDateTime),
    must("agent", Text),  # the browser as it names itself, cut short
    Index(None, "person_id"),
)

invitation = Table(
    "invitation",
    metadata,
    own_id(),
    to("account_id", "account"),
    must("name", Text),
    must("email", Text),
    must("role", Text),
    to("made_by", "person"),
    must("made_at", UTCDateTime),
    must("ends_at", UTCDateTime),
    Column("used_at", UTCDateTime),
    Column("withdrawn_at", UTCDateTime),
    Index(None, "account_id"),
    CheckConstraint(ROLES, name="role"),
)

api_token = Table(
    "api_token",
    metadata,
    own_id(),
    must("key_hash", Text, unique=True),  # shown once and not kept
    must("hint", Text),  # its last signs, to tell one from another
    must("name", Text),
    to("person_id", "person"),
    to("account_id", "account"),
    must("scopes", Text),  # words with spaces between
    must("made_at", UTCDateTime),
    must("ends_at", UTCDateTime),
    Column("used_at", UTCDateTime),
    Column("ended_at", UTCDateTime),
    Index(None, "account_id"),
)

audit = Table(
    "audit",
    metadata,
    own_id(),
    must("at", UTCDateTime),
    to("account_id", "account", nullable=True),
    to("person_id", "person", nullable=True),
    must("way", Text),  # page, api, command, link
    must("what", Text),  # such as dig.add
    Column("field_id", Integer),  # no key: what is logged outlives what it is about
    must("detail", PortableJSON),
    Index(None, "account_id", "id"),
)
"""Who changed what: rows are added, never changed."""

kept_answer = Table(
    "kept_answer",
    metadata,
    own_id(),
    to("token_id", "api_token"),
    must("key", Text),  # as the caller named the request
    must("request_hash", Text),  # the same key for another request is refused
    must("at", UTCDateTime),
    must("status", Integer),
    must("body", LargeBinary),
    UniqueConstraint("token_id", "key"),
)
"""Answers of the API to requests that may come twice."""
