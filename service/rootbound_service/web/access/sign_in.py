"""Signing in without a password: a link by mail, good once, for minutes, confirmed by a press."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated
from urllib.parse import quote, urlsplit

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from rootbound_service.store.audits import Actor, log
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.sign_in import link_stands, new_link, use_link, who_may_enter
from rootbound_service.store.web_sessions import LASTS, begin_session, end_sessions, move_session
from rootbound_service.web.access.forms import Form, OpenForm
from rootbound_service.web.access.letters import sign_in_letter
from rootbound_service.web.access.reader import NotThere, Signed, cookie_name, whoever
from rootbound_service.web.guard import MOST_NUMBER
from rootbound_service.web.parts import Desk, Served, page

if TYPE_CHECKING:
    from datetime import datetime

HOME = "/today"
GONE = (
    "Links to sign in work once and for 15 minutes. Ask for a new one: it takes less than a minute."
)


routes = APIRouter()


@routes.get("/sign-in")
def ask(request: Request, to: Annotated[str, Query()] = HOME) -> Response:
    """Ask for the address."""
    if whoever(request) is not None:
        return RedirectResponse(safe_path(to), 303)
    return page("sign_in", to=safe_path(to), email="", sent=False, problem="")


@routes.post("/sign-in")
def send(desk: Served, form: OpenForm) -> Response:
    """Answer alike whether the address is known or not: nobody learns who is enrolled."""
    email, to = form.get("email"), safe_path(form.get("to", HOME))
    if "@" not in email or len(email) > 320:  # noqa: PLR2004  RFC 3696: 64 + 1 + 255
        problem = "Give your e-mail address, such as ann@example.org."
        return page("sign_in", 422, to=to, email=email, sent=False, problem=problem)
    _send_link(desk, email, desk.service.clock.now())
    return page("sign_in", to=to, email=email, sent=True, problem="")


@routes.get("/enter/{token}")
def confirm(desk: Served, token: str) -> Response:
    """Show the button; a mail scanner that follows the link signs nobody in."""
    number, now = desk.number("enter", token), desk.service.clock.now()
    if number is not None:
        with desk.reading() as conn:
            if link_stands(conn, number, now):
                return page("enter", token=token)
    return _used_up()


@routes.post("/enter/{token}")
def enter(desk: Served, token: str, form: OpenForm, request: Request) -> Response:
    """Sign in."""
    del form  # read to see that it comes from our own page
    number, now = desk.number("enter", token), desk.service.clock.now()
    agent = request.headers.get("user-agent", "")
    with desk.writing() as conn:
        person_id = None if number is None else use_link(conn, number, now)
        if person_id is None:
            return _used_up()
        key = begin_session(conn, person_id, now, agent)
        log(conn, Actor(None, person_id, "page"), now, "session.begin")
    return signed_in(desk, key, HOME)


@routes.post("/sign-out")
def leave(desk: Served, form: Form, request: Request) -> Response:
    """Sign out, here or everywhere."""
    who, now = whoever(request), desk.service.clock.now()
    if who is not None:
        every = form.get("everywhere") == "yes"
        with desk.writing() as conn:
            end_sessions(conn, who.person.id, now, None if every else who.session_id)
    away = RedirectResponse("/sign-in", 303)
    away.delete_cookie(cookie_name(desk.service.settings.base_url), path="/")
    away.headers["Clear-Site-Data"] = '"cache"'
    return away


@routes.post("/account/switch")
def switch(desk: Served, form: Form, who: Signed) -> Response:
    """Look at another of one's accounts."""
    wanted = form.number("account", MOST_NUMBER)
    if wanted is None or who.session_id is None:
        raise NotThere("account")
    with desk.writing() as conn:
        if not move_session(conn, who.session_id, who.person.id, wanted):
            raise NotThere("account")
    return RedirectResponse(HOME, 303)


def signed_in(desk: Desk, key: str, to: str) -> Response:
    """Go on, with the session's cookie.

    Parameters
    ----------
    desk
        The service.
    key
        Of the session.
    to
        A path of ours.
    """
    base = desk.service.settings.base_url
    onward = RedirectResponse(to, 303)
    onward.set_cookie(
        cookie_name(base),
        key,
        max_age=int(LASTS.total_seconds()),
        path="/",
        secure=(base or "").startswith("https://"),
        httponly=True,
        samesite="lax",
    )
    return onward


def safe_path(to: str) -> str:
    """Give a path on this site, whatever was asked for: a link cannot lead elsewhere."""
    try:
        parts = urlsplit(to)
    except ValueError:  # such as "//[", which is no address
        return HOME
    path = parts.path.replace("\\", "/")
    if parts.scheme or parts.netloc or not path.startswith("/") or path.startswith("//"):
        return HOME
    return quote(path, safe="/%") + (f"?{quote(parts.query, safe='=&%+,')}" if parts.query else "")


def _used_up() -> Response:
    way = ("/sign-in", "Ask for a new link")
    return page("said", 410, title="This link is used up", lines=(GONE,), way=way)


def _send_link(desk: Desk, email: str, now: datetime) -> None:
    with desk.writing() as conn:
        person = who_may_enter(conn, email)
        number = new_link(conn, person.id, now) if person else None
        if person is not None and number is not None:
            enqueue(conn, [sign_in_letter(person, number, now)])
