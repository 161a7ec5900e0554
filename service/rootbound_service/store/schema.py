"""The tables. A change here needs a new step in migrations/; a test compares the two."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Float,
    Index,
    Integer,
    LargeBinary,
    Table,
    Text,
    UniqueConstraint,
)

from rootbound_service.store.portable import PortableJSON, UTCDateTime
from rootbound_service.store.schema_access import (
    account,
    api_token,
    audit,
    invitation,
    kept_answer,
    member,
    operator,
    sign_in_link,
    web_session,
)
from rootbound_service.store.schema_base import key_to, metadata, must, own_id, to
from rootbound_service.store.schema_nights import (
    heartbeat,
    job_run,
    kept_weather,
    note,
    risk,
    run,
)
from rootbound_service.store.schema_outbox import (
    channel_state,
    delivery_attempt,
    digest,
    inbound,
    outbox,
    outbox_image,
    outbox_note,
    receipt,
)
from rootbound_service.store.schema_people import (
    acknowledgement,
    consent_event,
    contact,
    contact_field,
    feed_key,
    field_person,
    person,
    silence,
    suppression,
)
from rootbound_service.store.schema_web import field_shape, photo, season_picture, standing

__all__ = [
    "account",
    "acknowledgement",
    "api_token",
    "audit",
    "channel_state",
    "consent_event",
    "contact",
    "contact_field",
    "delivery_attempt",
    "dig",
    "digest",
    "feed_key",
    "field",
    "field_person",
    "field_shape",
    "heartbeat",
    "inbound",
    "invitation",
    "job_run",
    "kept_answer",
    "kept_weather",
    "member",
    "metadata",
    "note",
    "observation",
    "operator",
    "outbox",
    "outbox_image",
    "outbox_note",
    "person",
    "photo",
    "receipt",
    "risk",
    "run",
    "season",
    "season_picture",
    "sign_in_link",
    "silence",
    "soil",
    "soil_answer",
    "soil_value",
    "standing",
    "suppression",
    "web_session",
]

field = Table(
    "field",
    metadata,
    own_id(),
    to("account_id", "account"),
    to("grower_id", "person"),
    to("adviser_id", "person", nullable=True),
    must("name", Text),
    must("name_key", Text),  # the name, case folded, with single spaces
    must("lat", Float),
    must("lon", Float),
    Column("elevation_m", Float),
    must("time_zone", Text),
    must("irrigated", Boolean),
    UniqueConstraint("account_id", "grower_id", "name_key"),
    Index(None, "grower_id", "name_key"),
    CheckConstraint("lat BETWEEN -90 AND 90", name="lat"),
    CheckConstraint("lon BETWEEN -180 AND 180", name="lon"),
)

soil = Table(
    "soil",
    metadata,
    key_to("field_id", "field"),
    Column("texture", Text),
    Column("field_capacity", Float),
    Column("wilting_point", Float),
    Column("clay_pct", Float),
    Column("organic_matter_pct", Float),
    Column("profile_depth_m", Float),
    Column("water_table_m", Float),
    must("origin", Text),
    Column("origins", PortableJSON),  # a sentence by the value's name
)
"""What counts for each field now; store/soil.py makes it anew from soil_value at each change."""

soil_value = Table(
    "soil_value",
    metadata,
    own_id(),
    to("field_id", "field"),
    must("name", Text),
    must("value", PortableJSON),
    must("source", Text),  # hand, a service's short name, or assumed
    must("origin", Text),
    Column("recorded_at", UTCDateTime),  # NULL: nobody kept the time
    must("withdrawn", Boolean),  # from here on this source has no such value
    Index(None, "field_id"),
    CheckConstraint(
        "name IN ('texture', 'field_capacity', 'wilting_point', 'clay_pct', "
        "'organic_matter_pct', 'profile_depth_m', 'water_table_m')",
        name="name",
    ),
)
"""Everything anybody said of a field's soil: rows are added, never changed."""

soil_answer = Table(
    "soil_answer",
    metadata,
    own_id(),
    to("field_id", "field"),
    must("asked_at", UTCDateTime),
    must("place", Text),  # fields some 250 m apart share it
    Column("source", Text),  # NULL: none had an answer
    must("profile", PortableJSON),
    must("reasons", PortableJSON),  # of the sources that had none
    must("retry_later", Boolean),
    Column("raw", LargeBinary),  # gzip of the answer as it came
    Index(None, "field_id"),
    Index(None, "place"),
)
"""What the soil services were asked for a field and what came of it."""

season = Table(
    "season",
    metadata,
    own_id(),
    to("field_id", "field"),
    must("year", Integer),  # of planting: a field has one season a year
    must("crop", Text),
    must("planted", Date),
    must("row_spacing_cm", Float),
    must("seed_depth_cm", Float),
    Column("black_layer_gdd_f", Float),
    UniqueConstraint("field_id", "year"),
)

dig = Table(
    "dig",
    metadata,
    own_id(),
    to("season_id", "season"),
    Column("form_id", Text),  # NULL when the card had none
    must("dug_on", Date),
    must("wall_class", Integer),
    must("plants", Integer),
    Column("crossing", Integer),
    Column("held", Integer),
    must("pan_class", Integer),
    Column("pan_depth_cm", Float),
    Column("seed_depth_cm", Float),
    Column("soil_moisture", Text),
    must("note", Text),
    Column("by", Text),
    Column("recorded_at", UTCDateTime),
    UniqueConstraint("season_id", "form_id"),
    CheckConstraint("wall_class BETWEEN 0 AND 3", name="wall_class"),
    CheckConstraint("pan_class BETWEEN 0 AND 3", name="pan_class"),
)

observation = Table(
    "observation",
    metadata,
    own_id(),
    to("season_id", "season"),
    must("kind", Text),
    must("day", Date),
    Column("value", Float),  # mm of water, or 1 and 0 for rolled or not
    must("by", Text),
    must("recorded_at", UTCDateTime),
    must("note", Text),
    Column("form_id", Text),  # NULL when the message had none
    to("withdraws", "observation", nullable=True),
    UniqueConstraint("season_id", "form_id"),
    CheckConstraint("kind IN ('rain', 'rolled', 'irrigation', 'harvest')", name="kind"),
)
"""What people saw and did: rows are added, never changed."""
