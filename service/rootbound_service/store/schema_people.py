"""The tables of people: how each is reached, what they agreed to, and what they want left out."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Index,
    Integer,
    Table,
    Text,
    UniqueConstraint,
)

from rootbound_service.store.portable import UTCDateTime
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to

person = Table(
    "person",
    metadata,
    own_id(),
    must("name", Text),
    must("email", Text),
    must("email_key", Text, unique=True),  # the e-mail, case folded
    must("role", Text),
    must("units", Text),
    must("time_zone", Text),
    must("language", Text),
    CheckConstraint("role IN ('grower', 'adviser')", name="role"),
    CheckConstraint("units IN ('us', 'metric')", name="units"),
)

contact = Table(
    "contact",
    metadata,
    own_id(),
    to("person_id", "person"),
    must("channel", Text),
    must("address", Text),  # a mail address, or a number as E.164
    must("address_key", Text),  # the address, case folded
    must("notes", Boolean),
    must("least_rung", Integer),  # of the notes that are told here
    Column("digest_day", Integer),  # 0 Monday; NULL: no digest here
    UniqueConstraint("person_id", "channel", "address_key"),
    Index(None, "channel", "address_key"),
    CheckConstraint("channel IN ('email', 'text')", name="channel"),
    CheckConstraint("least_rung BETWEEN 0 AND 4", name="least_rung"),
    CheckConstraint("digest_day BETWEEN 0 AND 6", name="digest_day"),
)

contact_field = Table(
    "contact_field",
    metadata,
    key_to("contact_id", "contact"),
    key_to("field_id", "field"),
)
"""The only fields a contact hears of; none named: all of the person's."""

consent_event = Table(
    "consent_event",
    metadata,
    own_id(),
    to("contact_id", "contact"),
    must("kind", Text),
    Column("at", UTCDateTime),  # NULL: nobody kept the time
    must("how", Text),  # the way it came: command, text, email, one-click, page, enrolment
    must("wording", Text),  # what they were asked, as they read it
    must("said", Text),  # what they answered, as they wrote it
    Index(None, "contact_id"),
    CheckConstraint("kind IN ('given', 'withdrawn', 'restored')", name="kind"),
)
"""What people agreed to: rows are added, never changed."""

suppression = Table(
    "suppression",
    metadata,
    own_id(),
    must("address_hash", Text),  # of channel and address; the list itself names nobody
    must("channel", Text),
    must("scope", Text),
    must("reason", Text),
    must("at", UTCDateTime),
    must("lifted", Boolean),  # from here on it no longer holds
    Index(None, "address_hash"),
    CheckConstraint("scope IN ('all', 'note', 'digest')", name="scope"),
)
"""The authority on who gets nothing: the latest row of an address and scope counts."""

silence = Table(
    "silence",
    metadata,
    own_id(),
    to("person_id", "person"),
    to("field_id", "field"),
    must("until", Date),  # that day is silent as well; a day in the past ends it
    must("at", UTCDateTime),
    must("how", Text),
    Index(None, "person_id", "field_id"),
)
"""A field somebody does not want to hear of for a while: the latest row counts."""

acknowledgement = Table(
    "acknowledgement",
    metadata,
    own_id(),
    to("person_id", "person"),
    to("season_id", "season"),
    must("at", UTCDateTime),
    must("how", Text),
    Index(None, "season_id"),
)
"""Who has seen what a field came to, and when."""

field_person = Table(
    "field_person",
    metadata,
    key_to("field_id", "field"),
    key_to("person_id", "person"),
    must("part", Text),
    CheckConstraint("part IN ('second')", name="part"),
)
"""Further people of a field: ``second`` hears what nobody acknowledged."""

feed_key = Table(
    "feed_key",
    metadata,
    own_id(),
    to("person_id", "person"),
    must("key_hash", Text, unique=True),  # the key itself is shown once and not kept
    must("made_at", UTCDateTime),
    Column("ended_at", UTCDateTime),
)
"""Secret addresses under which a person's machines read what counts for their fields."""
