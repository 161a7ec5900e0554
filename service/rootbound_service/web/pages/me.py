"""One's own page: how one reads, where one is signed in, what one is silent about."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from sqlalchemy import select

from rootbound_service.notes.speech import languages
from rootbound_service.store.accounts import memberships
from rootbound_service.store.audits import log
from rootbound_service.store.contacts import consents, contacts_of
from rootbound_service.store.feed_keys import end_feed_keys, make_feed_key
from rootbound_service.store.people import change_person
from rootbound_service.store.schema import contact, field
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.web_sessions import end_sessions, open_sessions
from rootbound_service.web.access.forms import Form
from rootbound_service.web.access.reader import NotThere, Signed
from rootbound_service.web.pages.frame import shown, today_of
from rootbound_service.web.parts import Served

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SAID = {"changed": "Changed. Letters from now on follow it.", "ended": "Signed out there."}

routes = APIRouter()


@routes.get("/me")
def me(request: Request, desk: Served, who: Signed, said: str = "") -> Response:
    """Show it."""
    return _page(request, desk, who, SAID.get(said, ""), "")


@routes.post("/me")
def change(desk: Served, who: Signed, form: Form) -> Response:
    """Change how one reads."""
    wishes = {
        "units": (form.get("units"), {"us", "metric"}),
        "time_zone": (form.get("time_zone"), set(zones())),
        "language": (form.get("language"), set(languages())),
    }
    good = {name: value for name, (value, known) in wishes.items() if value in known}
    if good:
        with desk.writing() as conn:
            change_person(conn, who.person.id, good)
            log(conn, who.actor, desk.service.clock.now(), "person.change", wishes=good)
    return RedirectResponse("/me?said=changed", 303)


@routes.post("/me/sessions/{session_id}/end")
def end(desk: Served, who: Signed, session_id: int, form: Form) -> Response:
    """Sign out somewhere else."""
    del form  # read to see that it comes from our own page
    now = desk.service.clock.now()
    with desk.writing() as conn:
        if session_id not in {one.id for one in open_sessions(conn, who.person.id, now)}:
            raise NotThere("session")
        end_sessions(conn, who.person.id, now, session_id)
    return RedirectResponse("/me?said=ended", 303)


@routes.post("/me/feed")
def feed(request: Request, desk: Served, who: Signed, form: Form) -> Response:
    """Make an address for one's feeds, shown once, or end all of them."""
    now = desk.service.clock.now()
    with desk.writing() as conn:
        end_feed_keys(conn, who.person.id, now)
        key = make_feed_key(conn, who.person.id, now) if form.get("make") else ""
        log(conn, who.actor, now, "feed.make" if key else "feed.end")
    if not key:
        return RedirectResponse("/me?said=changed", 303)
    base = desk.service.settings.base_url or str(request.base_url).rstrip("/")
    return _page(request, desk, who, "", f"{base}/f/{key}")


@cache
def zones() -> tuple[str, ...]:
    """Time zones to choose among."""
    return tuple(sorted(one for one in available_timezones() if "/" in one or one == "UTC"))


def _page(request: Request, desk: Served, who: Signed, said: str, made: str) -> Response:
    now, person = desk.service.clock.now(), who.person
    with desk.reading() as conn:
        silent = silenced_fields(conn, person.id, today_of(person, now))
        names = select(field.c.id, field.c.name).where(field.c.id.in_(list(silent)), *who.own())
        fields = {row.id: row.name for row in conn.execute(names)}
        ways = contacts_of(conn, contact.c.person_id == person.id)
        agreed = consents(conn, [one.id for one in ways])
        accounts = memberships(conn, person.id)
        sessions = open_sessions(conn, person.id, now)
    return shown(
        request,
        who,
        "me",
        part="me",
        said=said,
        made=made,
        zones=zones(),
        languages=languages(),
        days=DAYS,
        ways=ways,
        agreed=agreed,
        silent=[(one, fields[one], until) for one, until in silent.items() if one in fields],
        accounts=accounts,
        sessions=sessions,
        stop={one.id: desk.links.token("stop", one.id, 0) for one in ways},
    )
