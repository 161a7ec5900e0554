"""What the API takes and gives of an account: people, log, letters, where to dig."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import Field

from rootbound_service.records import AccessRole
from rootbound_service.web.api.base import In, Line, Out

NEXT = "What to send as after for the next page"


class MeOut(Out):
    """Whose token it is and what it may do."""

    person_id: int
    name: str
    units: Literal["us", "metric"]
    time_zone: str
    account: str
    role: AccessRole
    scopes: list[str]


class CountsOut(Out):
    """How many fields stand how."""

    fields: int
    by_rung: dict[str, int] = Field(
        description="Fields on the ladder", examples=[{"ample": 14, "drawing down": 3}]
    )
    by_status: dict[str, int] = Field(examples=[{"watched": 17, "unrated": 2}])
    last_night: dt.date | None = Field(description="Last night that was computed to its end")


class DigListEntry(Out):
    """A field to be dug."""

    field_id: int
    name: str
    grower: str
    why: str


class DigListOut(Out):
    """Where to dig first, and where again, in their order."""

    first: list[DigListEntry]
    again: list[DigListEntry]
    cautions: str = Field(description="To be read before anybody digs")


class PersonOut(Out):
    """A member."""

    id: int
    name: str
    email: str
    role: AccessRole


class PeoplePage(Out):
    """Members of the account by number."""

    people: list[PersonOut]
    next: int | None = Field(description=NEXT)


class RoleIn(In):
    """What somebody may do from now on."""

    role: AccessRole | Literal["out"] = Field(description="out: in the account no more")


class RoleOut(Out):
    """What somebody may do now."""

    person_id: int
    role: AccessRole | Literal["out"]


class InvitationIn(In):
    """Somebody to be invited."""

    name: Line = Field(min_length=1, max_length=80, examples=["Ann Miller"])
    email: Line = Field(min_length=3, max_length=320, examples=["ann@example.org"])
    role: AccessRole


class InvitationOut(Out):
    """An invitation that holds: a letter with a link is on its way."""

    id: int
    name: str
    email: str
    role: AccessRole
    made_at: dt.datetime
    ends_at: dt.datetime


class InvitationPage(Out):
    """Invitations that hold, by number."""

    invitations: list[InvitationOut]
    next: int | None = Field(description=NEXT)


class WithdrawnOut(Out):
    """An invitation that holds no more."""

    id: int


class ChangeOut(Out):
    """One line of the log."""

    id: int
    at: dt.datetime
    who: str
    way: Literal["page", "api", "command", "link"]
    what: str = Field(examples=["dig.add"])
    field_id: int | None


class ChangePage(Out):
    """The log, the latest first."""

    changes: list[ChangeOut]
    next: int | None = Field(description=NEXT)


class DigestOut(Out):
    """A weekly letter."""

    id: int
    week: str = Field(examples=["2026-W29"])
    night: dt.date
    page: str = Field(description="Path of its page; whoever has it may read it")


class DigestPage(Out):
    """One's own weekly letters, the latest first."""

    digests: list[DigestOut]
    next: int | None = Field(description=NEXT)


class HealthOut(Out):
    """How the service does; nothing that names anybody."""

    last_night: dt.date | None
    last_night_finished: dt.datetime | None
    fields_ok: int | None
    fields_failed: int | None
    weather: str | None
    messages: dict[str, int] = Field(description="Messages by what became of them")
    parts: dict[str, dt.datetime] = Field(description="When each part was last seen alive")
