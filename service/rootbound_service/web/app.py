"""The web application: small pages behind the links of letters, hooks, feeds and health."""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

from fastapi import FastAPI, Response

from rootbound_service.web import digests, feeds, health, hooks, letters, metrics, notes, stop
from rootbound_service.web.guard import Guard
from rootbound_service.web.pace import Pace
from rootbound_service.web.parts import Desk

if TYPE_CHECKING:
    from rootbound_service.wiring import Service


def make_app(service: Service) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    service
        The wired service.
    """
    app = FastAPI(title="Rootbound", docs_url=None, redoc_url=None, openapi_url=None)
    desk = Desk(service)
    for room in (stop, notes, letters, digests, feeds, hooks, health, metrics):
        app.include_router(room.router(desk))
    _serve_style(app)
    app.add_middleware(Guard, pace=Pace(service.clock))
    return app


def _serve_style(app: FastAPI) -> None:
    """The one style sheet of the pages, from the package."""
    style = files("rootbound_service.web").joinpath("templates", "pages.css").read_text("utf-8")

    @app.get("/s/pages.css")
    def pages_css() -> Response:
        keep = {"Cache-Control": "public, max-age=3600"}
        return Response(style, media_type="text/css", headers=keep)
