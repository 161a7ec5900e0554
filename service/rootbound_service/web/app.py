"""The web application: small pages behind the links of letters, hooks, feeds and health."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from importlib.resources import files
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request, Response
from fastapi.responses import PlainTextResponse

from rootbound_service.web import digests, feeds, health, hooks, metrics, notes, stop
from rootbound_service.web.pace import Pace
from rootbound_service.web.parts import Desk

if TYPE_CHECKING:
    from rootbound_service.wiring import Service

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "private, no-store",
    "Permissions-Policy": "geolocation=(), camera=(), microphone=()",
}
"""Of every answer; a room may set its own instead. No script runs on any page."""
MOST_BYTES = {"/in/mail": 6_000_000}
USUAL_BYTES = 64_000
"""Longest body that is read."""


def make_app(service: Service) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    service
        The wired service.
    """
    app = FastAPI(title="Rootbound", docs_url=None, redoc_url=None, openapi_url=None)
    desk = Desk(service)
    for room in (stop, notes, digests, feeds, hooks, health, metrics):
        app.include_router(room.router(desk))
    _serve_style(app)
    _guard(app, Pace(service.clock))
    return app


def _serve_style(app: FastAPI) -> None:
    """The one style sheet of the pages, from the package."""
    style = files("rootbound_service.web").joinpath("templates", "pages.css").read_text("utf-8")

    @app.get("/s/pages.css")
    def pages_css() -> Response:
        keep = {"Cache-Control": "public, max-age=3600"}
        return Response(style, media_type="text/css", headers=keep)


def _guard(app: FastAPI, pace: Pace) -> None:
    """Bound what is read and how often, and put the headers on every answer."""

    @app.middleware("http")
    async def guard(
        request: Request, call_next: Callable[[Request], Awaitable[Response]]
    ) -> Response:
        path = request.url.path
        length = request.headers.get("content-length", "0")
        most = MOST_BYTES.get(path, USUAL_BYTES)
        if request.method == "POST" and (not length.isdecimal() or int(length) > most):
            answer: Response = PlainTextResponse("too long", 413)
        elif not pace.allows(request.client.host if request.client else "", path):
            answer = PlainTextResponse("too often; wait a minute", 429, {"Retry-After": "60"})
        else:
            answer = await call_next(request)
        for name, value in HEADERS.items():
            answer.headers.setdefault(name, value)
        return answer
