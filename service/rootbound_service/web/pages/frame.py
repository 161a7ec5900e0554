"""What stands around every page of somebody signed in."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from datetime import date, datetime
from uuid import uuid4
from zoneinfo import ZoneInfo

from fastapi import Request
from fastapi.responses import HTMLResponse
from sqlalchemy import Connection

from rootbound_service.notes.speech import speaking
from rootbound_service.records import FieldRecord, Person
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.schema import field
from rootbound_service.web.access.forms import form_token
from rootbound_service.web.access.reader import Keeper, NotThere, Reader
from rootbound_service.web.kept import FORM_ID, FORM_TOKEN
from rootbound_service.web.parts import Desk, desk_of, rendered

NAV = (
    ("today", "/today", "Today"),
    ("dig-list", "/dig-list", "Dig list"),
    ("enrol", "/fields/new", "Enrol"),
    ("season", "/season", "Season"),
    ("digests", "/digests", "Digests"),
    ("people", "/people", "People"),
)
ADVISERS = ("enrol", "people")
"""Parts that only an adviser has."""


def shown(
    request: Request, who: Reader | Keeper, name: str, status: int = 200, **values: object
) -> HTMLResponse:
    """Render a page with what stands around it.

    Parameters
    ----------
    request
        The request.
    who
        Its reader.
    name
        Of the template.
    status
        HTTP status.
    values
        What it shows; ``part`` is the part of the site it belongs to.
    """
    token = form_token(request, who)
    return HTMLResponse(_framed(desk_of(request), who, name, token, values), status)


def kept_page(
    request: Request,
    who: Reader,
    rests_on: tuple[Hashable, ...],
    make: Callable[[], tuple[str, Mapping[str, object]]],
) -> HTMLResponse:
    """Give a page as it was rendered before, if nothing it rests on has changed.

    Parameters
    ----------
    request
        The request.
    who
        Its reader.
    rests_on
        Everything it rests on beside the reader; nothing of the session may be among it.
    make
        Gives the template and what it shows; in its forms FORM_ID stands for their number.
        A page that is ``passing`` is made anew each time.
    """
    desk = desk_of(request)

    def whole() -> tuple[str, bool]:
        name, values = make()
        return _framed(desk, who, name, FORM_TOKEN, values), not values.get("passing")

    key = (who.person, who.account_id, who.account_name, who.role, who.operator, *rests_on)
    text = desk.kept.text(key, whole)
    text = text.replace(FORM_TOKEN, form_token(request, who)).replace(FORM_ID, str(uuid4()))
    return HTMLResponse(text)


def _framed(
    desk: Desk, who: Reader | Keeper, name: str, token: str, values: Mapping[str, object]
) -> str:
    """Render a page with what stands around it."""
    around = {"who": who, "form_token": token, "nav": _nav(who), "part": "", "ask": desk.ask}
    with speaking(who.person.language):
        return rendered(f"{name}.html.j2", **(around | dict(values)))


def today_of(person: Person, now: datetime) -> date:
    """The day it is by a reader's clock.

    Parameters
    ----------
    person
        The reader.
    now
        The time, aware.
    """
    return now.astimezone(ZoneInfo(person.time_zone or "UTC")).date()


def day_at(one: FieldRecord, now: datetime) -> date:
    """The day it is at a field.

    Parameters
    ----------
    one
        The field.
    now
        The time, aware.
    """
    return now.astimezone(ZoneInfo(one.time_zone)).date()


def own_field(conn: Connection, who: Reader, field_id: int, on: date | None = None) -> FieldRecord:
    """Give a field that the reader may see.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    who
        The reader.
    field_id
        The field.
    on
        The day whose season is wanted; None: the latest.

    Raises
    ------
    NotThere
        If there is none, or it is another account's: the two look alike.
    """
    found = load_fields(conn, *who.own(), field.c.id == field_id, on=on)
    if not found:
        raise NotThere("field")
    return found[0]


def _nav(who: Reader | Keeper) -> list[tuple[str, str, str]]:
    reader = who.reader if isinstance(who, Keeper) else who
    found = [one for one in NAV if reader and (reader.enrols or one[0] not in ADVISERS)]
    if isinstance(who, Keeper) or who.operator:
        found.append(("operate", "/operate", "Operate"))
    return found
