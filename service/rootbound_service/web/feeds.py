"""Feeds for machines under a secret address: no log-in, so nobody else may guess or cache it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import format_datetime, parsedate_to_datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, Response

from rootbound_service.feeds import calendar, cap, geojson
from rootbound_service.feeds.atom import atom_of, entries_of
from rootbound_service.feeds.cap import cap_of
from rootbound_service.feeds.cap_chain import chain_of
from rootbound_service.feeds.issuer import Issuer, season_named
from rootbound_service.feeds.stand import BACK, changed_at, stands_now, stands_since, told_at
from rootbound_service.feeds.table import table_of
from rootbound_service.store.feed_keys import reader_of_key
from rootbound_service.web.parts import Desk

if TYPE_CHECKING:
    from sqlalchemy import Connection

HEADERS = {
    "Cache-Control": "private, max-age=300",
    # the address alone lets in: no search engine may keep it
    "X-Robots-Tag": "noindex, nofollow",
}


@dataclass(frozen=True, slots=True)
class _Made:
    """A feed as it stands now."""

    body: bytes
    changed: datetime | None


@dataclass(frozen=True, slots=True)
class _Reader:
    """Who asks, with what is needed to answer."""

    conn: Connection
    issuer: Issuer
    now: datetime
    address: str
    """Of all feeds of this key."""


Make = Callable[[_Reader], _Made | None]


def router(desk: Desk) -> APIRouter:
    """Make the routes; each answers GET and HEAD.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    def add(path: str, mime: str, make: Make) -> None:
        def answer(key: str, request: Request) -> Response:
            return _answer(desk, key, request, mime, make)

        routes.add_api_route(f"/f/{{key}}/{path}", answer, methods=["GET", "HEAD"])

    add("fields.csv", "text/csv; charset=utf-8", _csv)
    add("fields.geojson", geojson.MIME, _geojson)
    add("visits.ics", f"{calendar.MIME}; charset=utf-8; method=PUBLISH", _calendar)
    add("alerts.atom", "application/atom+xml; charset=utf-8", _atom)

    def message(key: str, name: str, request: Request) -> Response:
        return _answer(desk, key, request, cap.MIME, lambda reader: _cap(name, reader))

    routes.add_api_route("/f/{key}/cap/{name}.xml", message, methods=["GET", "HEAD"])
    return routes


def _answer(desk: Desk, key: str, request: Request, mime: str, make: Make) -> Response:
    """Make a feed, or say that the reader has it already (RFC 9110 13.1)."""
    settings, now = desk.service.settings, desk.service.clock.now()
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        person = reader_of_key(conn, key)
        if person is None:
            return PlainTextResponse("there is no such feed", 404)
        sender, units, language = settings.mail_from, person.units, person.language
        issuer = Issuer(sender, person.id, units, language, desk.ask)
        made = make(_Reader(conn, issuer, now, f"{settings.base_url or ''}/f/{key}"))
    if made is None:
        return PlainTextResponse("there is no such message", 404)
    tag = f'"{sha256(made.body).hexdigest()[:32]}"'
    headers = {**HEADERS, "ETag": tag}
    if made.changed is not None:
        headers["Last-Modified"] = format_datetime(made.changed.astimezone(UTC), usegmt=True)
    if _has_it(request, tag, made.changed):
        return Response(status_code=304, headers=headers)
    return Response(made.body, headers={**headers, "Content-Type": mime})


def _has_it(request: Request, tag: str, changed: datetime | None) -> bool:
    """Whether the reader's copy is this one; a tag goes before a time (RFC 9110 13.2.2)."""
    asked = request.headers.get("if-none-match")
    if asked is not None:
        known = {one.strip().removeprefix("W/") for one in asked.split(",")}
        return tag in known or asked.strip() == "*"
    since = _moment(request.headers.get("if-modified-since", ""))
    return since is not None and changed is not None and changed.replace(microsecond=0) <= since


def _moment(text: str) -> datetime | None:
    """A moment as HTTP writes it; None for what is none (RFC 9110 13.1.3: then it is ignored)."""
    try:
        found = parsedate_to_datetime(text)
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)


def _csv(reader: _Reader) -> _Made:
    stands = stands_now(reader.conn, reader.issuer.person_id, reader.now)
    return _Made(table_of(stands).encode(), changed_at(stands))


def _geojson(reader: _Reader) -> _Made:
    stands = stands_now(reader.conn, reader.issuer.person_id, reader.now)
    return _Made(geojson.geojson_of(stands).encode(), changed_at(stands))


def _calendar(reader: _Reader) -> _Made:
    stands = stands_now(reader.conn, reader.issuer.person_id, reader.now)
    return _Made(calendar.calendar_of(stands, reader.issuer), changed_at(stands))


def _atom(reader: _Reader) -> _Made:
    first = (reader.now - BACK).date()
    stands = stands_since(reader.conn, reader.issuer.person_id, reader.now, first)
    told = told_at(stands)
    entries = entries_of(stands, first)
    return _Made(atom_of(entries, reader.issuer, reader.address, told), told)


def _cap(name: str, reader: _Reader) -> _Made | None:
    """One message: it never changes, so that its own moment is its last change."""
    named = season_named(name)
    if named is None:
        return None
    season_id, sent = named
    first = (sent - BACK).date()  # a night may have been run late
    person_id, now = reader.issuer.person_id, reader.now
    for stand in stands_since(reader.conn, person_id, now, first, season_id):
        for link in chain_of(stand):
            if reader.issuer.identifier(link.mark) == name:
                return _Made(cap_of(link, stand.field, reader.issuer), link.mark.sent)
    return None
