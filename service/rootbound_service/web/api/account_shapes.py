"""What the API takes and gives of an account: people, log, letters, where to dig."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from pydantic import BaseModel, Field

from rootbound_service.web.api.shapes import In


class DoneOut(BaseModel):
    """It is done."""

    done: bool = True


class CountsOut(BaseModel):
    """How many fields stand how."""

    fields: int
    by_rung: dict[str, int]
    by_status: dict[str, int]


class PersonOut(BaseModel):
    """A member."""

    id: int
    name: str
    email: str
    role: str


class PeopleOut(BaseModel):
    """The members of the account."""

    people: list[PersonOut]


class InvitationIn(In):
    """Somebody to be invited."""

    name: str = Field(max_length=80)
    email: str = Field(max_length=320)
    role: Literal["adviser", "grower", "viewer"]


class ChangeOut(BaseModel):
    """One line of the log."""

    id: int
    at: dt.datetime
    who: str
    way: str
    what: str
    field_id: int | None


class ChangesOut(BaseModel):
    """The log, the latest first."""

    changes: list[ChangeOut]
    next: int | None


class DigestOut(BaseModel):
    """A weekly letter."""

    id: int
    week: str
    night: dt.date
    page: str = Field(description="Path of its page")


class DigestsOut(BaseModel):
    """One's own weekly letters."""

    digests: list[DigestOut]


class DigListEntry(BaseModel):
    """A field to be dug."""

    field_id: int
    name: str
    grower: str
    why: str


class DigListOut(BaseModel):
    """Where to dig first, and where again, in their order."""

    first: list[DigListEntry]
    again: list[DigListEntry]
