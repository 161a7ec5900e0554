"""A sent letter as its reader got it, pictures and all, for whoever opens it from a text."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from rootbound_service.notes.letter import render_preview
from rootbound_service.store.outbox import load_messages
from rootbound_service.web.digests import OWN_STYLE
from rootbound_service.web.parts import Desk, no_such_link


def router(desk: Desk) -> APIRouter:
    """Make the route.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()

    @routes.get("/n/{token}/letter")
    def letter(token: str) -> Response:
        number = desk.number("note", token)
        if number is None:
            return no_such_link()
        with desk.service.engine.execution_options(ro=True).connect() as conn:
            messages = [one for one in load_messages(conn, [number]) if one.html]
        if not messages or messages[0].kind != "note":
            return no_such_link()
        (one,) = messages
        html = desk.links.filled(one.html, one.id, one.contact_id, one.kind)
        page = render_preview(html, one.images)
        return HTMLResponse(page, headers={"Content-Security-Policy": OWN_STYLE})

    return routes
