"""The shapes in which people, fields, digs and nights travel between the rooms of the service."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal

Role = Literal["grower", "adviser"]
AccessRole = Literal["adviser", "grower", "viewer"]
"""What somebody may do in an account."""
Units = Literal["us", "metric"]
Channel = Literal["email", "text"]
MessageKind = Literal["note", "digest", "operator", "answer"]
Scope = Literal["all", "note", "digest"]
"""What a person stopped: everything, notes, or digests."""
ObservationKind = Literal["rain", "rolled", "irrigation", "harvest"]


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who is told about fields. ``id`` is 0 until stored."""

    name: str
    email: str
    role: Role
    units: Units = "us"
    time_zone: str = "UTC"
    id: int = 0
    language: str = "en"
    """Folder of the words they read, under ``notes/``."""


@dataclass(frozen=True, slots=True)
class Contact:
    """One way to reach a person and what they want by it. ``id`` is 0 until stored."""

    person_id: int
    channel: Channel
    address: str
    """A mail address, or a number as E.164."""
    notes: bool = True
    least_rung: int = 0
    """Notes on lower rungs are not told here. [0-4]"""
    digest_day: int | None = None
    """Weekday of the digest, 0 for Monday; None: no digest here."""
    field_ids: tuple[int, ...] = ()
    """The only fields it hears of; empty: all of the person's."""
    id: int = 0


@dataclass(frozen=True, slots=True)
class ConsentEvent:
    """What a person agreed to or took back, with the words they read and wrote; never changed."""

    contact_id: int
    kind: Literal["given", "withdrawn", "restored"]
    at: datetime | None
    """Aware UTC; None: nobody kept the time."""
    how: str
    """The way it came: command, text, email, one-click, page, enrolment."""
    wording: str
    said: str = ""
    id: int = 0


@dataclass(frozen=True, slots=True)
class Silence:
    """A field that a person does not want to hear of up to and including a day."""

    person_id: int
    field_id: int
    until: date
    at: datetime
    how: str


@dataclass(frozen=True, slots=True)
class Acknowledgement:
    """Somebody has seen what a field came to."""

    person_id: int
    season_id: int
    at: datetime
    how: str


@dataclass(frozen=True, slots=True)
class SoilRecord:
    """Soil of a field as entered or mapped; a number left None follows from the texture.

    Water contents are volumetric [m3 m-3], depths in m, clay and organic matter in % by mass.
    One without any value stands for a soil that is still to be fetched.
    """

    texture: str | None = None
    field_capacity: float | None = None
    wilting_point: float | None = None
    clay_pct: float | None = None
    organic_matter_pct: float | None = None
    profile_depth_m: float | None = None
    water_table_m: float | None = None
    origin: str = "entered by hand"
    """Where all of it is from, in a few words."""
    origins: Mapping[str, str] = field(default_factory=dict[str, str], compare=False)
    """Where each value is from, a sentence by its name; empty before it is stored."""

    @property
    def is_known(self) -> bool:
        """Whether it is enough to compute with; if not, it is still to be fetched."""
        both = self.field_capacity is not None and self.wilting_point is not None
        return both or self.texture is not None


@dataclass(frozen=True, slots=True)
class DigRecord:
    """One dig card. ``form_id`` makes a repeated submission harmless."""

    dug_on: date
    wall_class: int
    plants: int = 0
    crossing: int | None = None
    held: int | None = None
    pan_class: int = 0
    pan_depth_cm: float | None = None
    seed_depth_cm: float | None = None
    soil_moisture: Literal["dry", "moist", "wet"] | None = None
    note: str = ""
    form_id: str = ""
    id: int = 0
    by: str = ""
    """Who dug, as they call themselves; empty: nobody said."""
    recorded_at: datetime | None = None
    """When the card came in, aware UTC; None: nobody kept the time."""


@dataclass(frozen=True, slots=True)
class ObservationRecord:
    """Something a person saw or did on one field; stored as said, never changed.

    ``value`` is rain or irrigation [mm], 1 or 0 for leaves rolled at noon or not, for a
    harvest its yield [t/ha] or None. ``withdraws`` names an earlier observation that this
    one takes back.
    """

    kind: ObservationKind
    day: date
    """The field's own day it was seen or done on."""
    value: float | None
    by: str
    """Who said so, as they call themselves."""
    recorded_at: datetime
    """Aware UTC."""
    note: str = ""
    form_id: str = ""
    """Makes a repeated submission harmless."""
    withdraws: int | None = None
    id: int = 0


@dataclass(frozen=True, slots=True)
class FieldRecord:
    """One enrolled field with its current season. ``id`` and ``season_id`` are 0 until stored."""

    name: str
    lat: float
    lon: float
    elevation_m: float | None
    """None: taken from the weather source's cell when first pulled. [m]"""
    row_spacing_cm: float
    time_zone: str
    grower: Person
    adviser: Person | None
    soil: SoilRecord
    crop: str
    planted: date
    black_layer_gdd_f: float | None
    seed_depth_cm: float
    irrigated: bool = False
    digs: tuple[DigRecord, ...] = ()
    id: int = 0
    season_id: int = 0
    observations: tuple[ObservationRecord, ...] = ()
    """Those that stand: without the withdrawn ones and those that withdraw; oldest first."""
    account_id: int = 0
    """Who shares it; 0: found by its people when it is stored."""

    @property
    def people(self) -> tuple[Person, ...]:
        """Who is told of it: its grower, and its adviser if that is somebody else."""
        if self.adviser is None or self.adviser.id == self.grower.id:
            return (self.grower,)
        return (self.grower, self.adviser)


@dataclass(frozen=True, slots=True)
class RiskRecord:
    """What one night found for one field: the ladder's memory and the figures shown.

    ``raw_rung`` is what the thresholds alone say, ``rung`` what is shown after hysteresis;
    ``nights_below`` counts successive nights on which ``raw_rung`` was under ``rung``;
    ``said_rung`` is the rung people were last told, None before the first note;
    ``nights_under_said`` counts successive nights at one rung under it; ``changed_on`` is the
    night of the last change of ``rung``; ``said_free`` tells whether people were told that
    the roots have grown free. ``detail`` holds what both readings and the outlook said, for
    whoever asks why there was no note; it alone never makes a new row.
    """

    season_id: int
    night: date
    status: str
    rung: int | None
    raw_rung: int | None
    free_rung: int | None
    nights_below: int
    said_rung: int | None
    nights_under_said: int
    reason: str
    stage: str
    gdd_f_total: float
    water_in_reach_mm: float | None
    free_water_mm: float | None
    days_ahead_kind: str
    days_ahead_median: float | None
    days_ahead_low: float | None
    days_ahead_high: float | None
    chance_7: float | None
    chance_14: float | None
    stress_past_7: float | None
    stress_season: float | None
    reach: float | None
    weather_through: date | None
    changed_on: date | None = None
    said_free: bool = False
    detail: Mapping[str, object] = field(default_factory=dict[str, object], compare=False)


@dataclass(frozen=True, slots=True)
class NoteRecord:
    """One note about one field: a change of rung, decided in one night, with its evidence."""

    season_id: int
    night: date
    from_rung: int | None
    to_rung: int | None
    reason: str
    evidence: dict[str, object]
    dedupe_key: str
    id: int = 0


@dataclass(frozen=True, slots=True)
class OutboxMessage:
    """One message that waits to be sent, rendered when it was decided.

    ``dedupe_key`` is unique in the outbox and names the Message-ID, so that every retry
    and every repeated night gives the same message. ``images`` maps Content-ID to PNG bytes.
    """

    dedupe_key: str
    kind: MessageKind
    """answer: what somebody gets who wrote to us; it passes quiet hours and suppression."""
    channel: Channel
    person_id: int | None
    to_address: str
    to_name: str
    subject: str
    text: str
    html: str
    images: dict[str, bytes]
    created_at: datetime
    available_at: datetime
    not_after: datetime | None
    priority: int = 5
    """Lower goes first: notes 1-4 (4 minus rung), digest 7, operator 0."""
    thread_key: str = ""
    """Messages of one field and season share it: References points to the thread's first."""
    note_keys: tuple[str, ...] = ()
    """Dedupe keys of the notes this message carries."""
    contact_id: int | None = None
    quiet_zone: str = ""
    """Time zone whose nights it waits out; empty: it goes at any hour."""
    status: Literal["pending", "folded"] = "pending"
    """folded: over the limit of texts; kept, not sent, and told in the digest."""
    id: int = 0
    attempts: int = 0
