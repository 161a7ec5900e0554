"""The weekly letter as a page, and as a PDF for paper."""

from __future__ import annotations

from threading import Lock

from fastapi import APIRouter
from fastapi.responses import HTMLResponse, Response

from rootbound_service.store.digests import digest_page
from rootbound_service.web.parts import Desk, no_such_link, page

OWN_STYLE = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "frame-ancestors 'none'"
)
"""The page is kept whole, its style within; no script runs on it either."""


def router(desk: Desk) -> APIRouter:
    """Make the routes.

    Parameters
    ----------
    desk
        The service.
    """
    routes = APIRouter()
    press = Lock()  # seconds of work for hundreds of fields: never all threads at once

    @routes.get("/d/{token}.pdf")
    def paper(token: str) -> Response:
        html = _page(desk, token)
        if html is None:
            return no_such_link()
        from rootbound_service.notes.pdf import NoPdf, pdf_of

        if not press.acquire(blocking=False):
            line = "Another one is being set; open this link again in half a minute."
            busy = page("said", 503, title="One moment", lines=(line,))
            busy.headers["Retry-After"] = "30"
            return busy
        try:
            pdf = pdf_of(html)
        except NoPdf:
            line = "Open the page and print it from the browser; it is laid out for paper."
            return page("said", 501, title="No PDF here", lines=(line,))
        finally:
            press.release()
        name = 'inline; filename="rootbound-digest.pdf"'
        return Response(pdf, media_type="application/pdf", headers={"Content-Disposition": name})

    @routes.get("/d/{token}")
    def read(token: str) -> Response:
        html = _page(desk, token)
        if html is None:
            return no_such_link()
        return HTMLResponse(html, headers={"Content-Security-Policy": OWN_STYLE})

    return routes


def _page(desk: Desk, token: str) -> str | None:
    number = desk.number("digest", token)
    if number is None:
        return None
    with desk.service.engine.execution_options(ro=True).connect() as conn:
        return digest_page(conn, number)
