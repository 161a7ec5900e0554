"""The page behind "stop": looking at it stops nothing, one press does (RFC 8058)."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response
from sqlalchemy import Connection

from rootbound_service.records import Contact, Scope
from rootbound_service.store.suppressions import suppressed
from rootbound_service.telling.stopping import start, stop, whom_and_what
from rootbound_service.web.parts import Desk, no_such_link, page

WHAT = {"all": "everything", "note": "notes on your fields", "digest": "the weekly digest"}


def router(desk: Desk) -> APIRouter:
    """Make the routes.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/u/{token}")
    def ask(token: str) -> Response:
        with desk.service.engine.execution_options(ro=True).connect() as conn:
            whose = whom_and_what(conn, desk.read("stop", token))
            if whose is None:
                return no_such_link()
            return _shown(conn, token, *whose)

    @routes.post("/u/{token}")
    def press(token: str) -> Response:
        """One click of a mail program, or of the page: no cookie, no redirect, 200 at once."""
        with desk.service.engine.begin() as conn:
            whose = whom_and_what(conn, desk.read("stop", token))
            if whose is None:
                return no_such_link()
            one, scope = whose
            if scope not in suppressed(conn, one.channel, one.address):
                stop(conn, one, scope, "one-click", "", desk.service.clock.now())
            return _shown(conn, token, one, scope)

    @routes.post("/u/{token}/again")
    def again(token: str) -> Response:
        with desk.service.engine.begin() as conn:
            whose = whom_and_what(conn, desk.read("stop", token))
            if whose is None:
                return no_such_link()
            one, scope = whose
            start(conn, one, "page", "", desk.service.clock.now())
            return _shown(conn, token, one, scope)

    return routes


def _shown(conn: Connection, token: str, one: Contact, scope: Scope) -> HTMLResponse:
    """The page as things stand; starting again starts all of it, so all of it is named."""
    stands = suppressed(conn, one.channel, one.address)
    done = bool({"all", scope} & stands)
    named = (["all"] if "all" in stands else sorted(stands)) if done else [scope]
    what = " and ".join(WHAT[part] for part in named)
    return page("stop", token=token, what=what, address=_veiled(one), done=done)


def _veiled(one: Contact) -> str:
    """An address that its owner knows again and nobody else: links get forwarded."""
    if one.channel == "text":
        return f"the number that ends in {one.address[-2:]}"
    name, _, domain = one.address.partition("@")
    return f"{name[:1]}...@{domain}"
