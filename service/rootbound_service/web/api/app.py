"""The API's application, mounted under /api: its own schema, its own errors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.responses import Response

from rootbound_service.web.api import (
    account,
    digs,
    fields,
    notes,
    observed,
    operate,
    outlines,
    people,
    season,
)
from rootbound_service.web.api.examples import EXAMPLES, curl
from rootbound_service.web.api.problems import answer_with_problems
from rootbound_service.web.api.schema import ABOUT, VERSION, calls_of, schema_of
from rootbound_service.web.api.size import Size
from rootbound_service.web.parts import page

if TYPE_CHECKING:
    from rootbound_service.web.parts import Desk

PATH = "/api"
"""Everything below is the API's, so that even a wrong address is answered in its own way."""
ROOMS = (fields, outlines, season, digs, observed, notes, account, people, operate)


def make_api(desk: Desk) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    desk
        The service.
    """
    api = FastAPI(
        title="Rootbound",
        version="1",
        description=ABOUT,
        docs_url=None,
        redoc_url=None,
        openapi_url=f"{VERSION}/openapi.json",
        redirect_slashes=False,
        root_path_in_servers=False,
    )
    api.state.desk = desk
    for room in ROOMS:
        api.include_router(room.routes, prefix=VERSION)
    answer_with_problems(api)
    api.add_middleware(Size)
    usual = api.openapi
    api.openapi = lambda: schema_of(usual())  # type: ignore[method-assign]  # as its own page says

    @api.get(f"{VERSION}/docs", include_in_schema=False)
    def docs(request: Request) -> Response:
        base = desk.service.settings.base_url or str(request.base_url).split(PATH)[0]
        return page(
            "api",
            base=base.rstrip("/"),
            about=ABOUT,
            examples=[(one.question, curl(one)) for one in EXAMPLES],
            calls=calls_of(api.openapi()),
        )

    return api
