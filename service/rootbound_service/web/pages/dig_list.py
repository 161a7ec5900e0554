"""Where to dig first and where again: worked out once a day for an account, then remembered."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlalchemy import func, select

from rootbound_service.nightly import decide_all
from rootbound_service.nights.dig_list import dig_list as in_order
from rootbound_service.nights.dig_list import to_compute
from rootbound_service.nights.gather import gather
from rootbound_service.notes.en.dig_words import (
    AGAIN_INTRO,
    DIG_CAUTIONS,
    FIRST_INTRO,
    again_text,
    first_text,
    window_words,
)
from rootbound_service.store.schema import dig, field, season, standing
from rootbound_service.web.access.reader import Signed
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.parts import Served

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy import Connection

    from rootbound_service.notes.dig_lists import DigList
    from rootbound_service.records import FieldRecord
    from rootbound_service.web.access.reader import Reader
    from rootbound_service.web.parts import Desk

KEPT = 200
"""Lists remembered; the oldest are forgotten."""

routes = APIRouter()
_lists: OrderedDict[tuple[object, ...], Listed] = OrderedDict()
_lock = Lock()


@dataclass(frozen=True, slots=True)
class Listed:
    """Where to dig, and the fields that are told of."""

    fields: dict[int, FieldRecord]
    digs: DigList


@routes.get("/dig-list")
def dig_list(request: Request, desk: Served, who: Signed) -> Response:
    """Show the list."""
    day, units = today_of(who.person, desk.service.clock.now()), who.person.units
    found = listed(desk, who, day)
    first = [
        (found.fields[one.field_id], window_words(one.window), first_text(one, crop, units))
        for one in found.digs.first
        for crop in (found.fields[one.field_id].crop,)
    ]
    again = [(found.fields[one.field_id], again_text(one, units)) for one in found.digs.again]
    return shown(
        request,
        who,
        "dig_list",
        part="dig-list",
        day=day,
        first=first,
        again=again,
        any=bool(found.fields),
        first_intro=FIRST_INTRO,
        again_intro=AGAIN_INTRO,
        cautions=DIG_CAUTIONS,
    )


def listed(desk: Desk, who: Reader, day: date) -> Listed:
    """Give the list of a day, made anew when a field, a night or a dig has come.

    Parameters
    ----------
    desk
        The service.
    who
        Whose fields.
    day
        The day.
    """
    with desk.reading() as conn:
        key = (desk.service.engine.url, who.account_id, who.grower_id, day, *_state(conn, who))
    with _lock:
        kept = _lists.get(key)
    if kept is not None:
        return kept
    parts = desk.service.parts
    gathered = gather(parts, day, pull=False, which=who.own())
    asked, past = to_compute(gathered)
    decided = decide_all(asked, parts.settings.weather_stale_days)
    digs = in_order((*(one.computed for one in decided), *past), day)
    made = Listed({one.id: one for one in gathered.fields}, digs)
    with _lock:
        _lists[key] = made
        while len(_lists) > KEPT:
            _lists.popitem(last=False)
    return made


def _state(conn: Connection, who: Reader) -> tuple[object, ...]:
    """What a list rests on: the fields, their last night, their digs."""
    stands = select(func.count(), func.max(standing.c.night), func.max(standing.c.season_id))
    stands = stands.where(standing.c.account_id == who.account_id)
    digs = (
        select(func.count(), func.max(dig.c.id))
        .join(season, season.c.id == dig.c.season_id)
        .join(field, field.c.id == season.c.field_id)
        .where(*who.own())
    )
    return (*conn.execute(stands).one(), *conn.execute(digs).one())
