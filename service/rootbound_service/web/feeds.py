"""Feeds for machines under a secret address: no log-in, so nobody else may guess or cache it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from email.utils import format_datetime
from hashlib import sha256

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, Response

from rootbound_service.feeds import calendar, cap, geojson
from rootbound_service.feeds.atom import atom_of
from rootbound_service.feeds.cap import Issuer, cap_of
from rootbound_service.feeds.cap_chain import Link, chain_of
from rootbound_service.feeds.stand import Stand, stands_of, told_at
from rootbound_service.feeds.table import table_of
from rootbound_service.records import FieldRecord
from rootbound_service.store.feed_keys import person_of_key
from rootbound_service.web.parts import Desk

KEEP = "private, max-age=300"
Make = Callable[[list[Stand], Issuer, str], bytes | None]


def router(desk: Desk) -> APIRouter:
    """Make the routes.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/f/{key}/fields.csv")
    def csv(key: str, request: Request) -> Response:
        return _feed(desk, key, request, "text/csv; charset=utf-8", _csv)

    @routes.get("/f/{key}/fields.geojson")
    def geo(key: str, request: Request) -> Response:
        return _feed(desk, key, request, geojson.MIME, _geojson)

    @routes.get("/f/{key}/visits.ics")
    def ics(key: str, request: Request) -> Response:
        return _feed(desk, key, request, calendar.MIME, _calendar)

    @routes.get("/f/{key}/alerts.atom")
    def atom(key: str, request: Request) -> Response:
        return _feed(desk, key, request, "application/atom+xml", _atom)

    @routes.get("/f/{key}/cap/{name}.xml")
    def one(key: str, name: str, request: Request) -> Response:
        return _feed(desk, key, request, cap.MIME, lambda *given: _cap(name, *given))

    return routes


def _feed(desk: Desk, key: str, request: Request, mime: str, make: Make) -> Response:
    """Make a feed, or say that the reader has it already (RFC 9110 13.1)."""
    settings, now = desk.service.settings, desk.service.clock.now()
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        person_id = person_of_key(conn, key)
        if person_id is None:
            return PlainTextResponse("there is no such feed", 404)
        stands = stands_of(conn, person_id, now)
    issuer = Issuer(settings.mail_from, person_id, settings.base_url)
    body = make(stands, issuer, f"{settings.base_url or ''}/f/{key}")
    if body is None:
        return PlainTextResponse("there is no such message", 404)
    changed = told_at(stands)
    tag = f'"{sha256(body).hexdigest()[:32]}"'
    headers = {"ETag": tag, "Cache-Control": KEEP}
    if changed is not None:
        headers["Last-Modified"] = format_datetime(changed.astimezone(UTC), usegmt=True)
    if _has_it(request, tag, changed):
        return Response(status_code=304, headers=headers)
    return Response(body, media_type=mime, headers=headers)


def _has_it(request: Request, tag: str, changed: datetime | None) -> bool:
    """Whether the reader's copy is this one; a tag goes before a time (RFC 9110 13.2.2)."""
    asked = request.headers.get("if-none-match")
    if asked is not None:
        return asked == "*" or tag in {one.strip().removeprefix("W/") for one in asked.split(",")}
    since = request.headers.get("if-modified-since")
    if since is None or changed is None:
        return False
    return since == format_datetime(changed.astimezone(UTC), usegmt=True)


def _csv(stands: list[Stand], _: Issuer, __: str) -> bytes:
    return table_of(stands).encode()


def _geojson(stands: list[Stand], _: Issuer, __: str) -> bytes:
    return geojson.geojson_of(stands).encode()


def _calendar(stands: list[Stand], issuer: Issuer, _: str) -> bytes:
    return calendar.calendar_of(stands, issuer.sender.rpartition("@")[2])


def _atom(stands: list[Stand], issuer: Issuer, address: str) -> bytes:
    latest = sorted(_links(stands), key=lambda one: (one[0].sent, one[1].id), reverse=True)
    return atom_of(latest, issuer, address, told_at(stands))


def _cap(name: str, stands: list[Stand], issuer: Issuer, _: str) -> bytes | None:
    for link, field in _links(stands):
        if link.identifier == name:
            return cap_of(link, field, issuer)
    return None


def _links(stands: list[Stand]) -> list[tuple[Link, FieldRecord]]:
    """Every message of every field."""
    return [
        (link, stand.field)
        for stand in stands
        for link in chain_of(stand.field.season_id, stand.nights)
    ]
