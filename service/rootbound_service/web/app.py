"""The web application: pages of the signed in, links of letters, hooks, feeds and health."""

from __future__ import annotations

from collections.abc import AsyncGenerator
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse, Response
from starlette.exceptions import HTTPException

from rootbound_service.web import (
    assets,
    digests,
    feeds,
    health,
    hooks,
    letters,
    metrics,
    noted,
    notes,
    stop,
)
from rootbound_service.web.access import sign_in
from rootbound_service.web.access.nonsense import not_understood
from rootbound_service.web.access.reader import NotThere, NotYours, SignInNeeded
from rootbound_service.web.access.sign_in import safe_path
from rootbound_service.web.api.app import PATH, make_api
from rootbound_service.web.guard import Guard
from rootbound_service.web.pace import Pace
from rootbound_service.web.pages import (
    archive,
    changes,
    dig,
    dig_list,
    dig_meaning,
    enrol,
    fields,
    importing,
    join,
    me,
    me_ways,
    operate,
    operate_outbox,
    operate_settings,
    people,
    people_fields,
    people_ways,
    season,
    today,
    tokens,
)
from rootbound_service.web.parts import Desk, page

if TYPE_CHECKING:
    from rootbound_service.wiring import Service

WITHOUT_SIGNING_IN = (stop, notes, noted, letters, digests, feeds, hooks, health, metrics)
PAGES = (
    sign_in, join, today, importing, enrol, dig, dig_meaning, dig_list, fields, archive, changes,
    people, people_ways, people_fields, me, me_ways, tokens, season, operate, operate_outbox,
    operate_settings,
)  # fmt: skip
THREADS = 6
"""Of one process; what waits for a soil service or sets a PDF takes one for seconds."""
NOT_HERE = (
    "There is no such page, or it belongs to an account that you are not in. "
    "The list of your fields is under Today."
)


def make_app(service: Service) -> FastAPI:
    """Make the application.

    Parameters
    ----------
    service
        The wired service.
    """
    app = FastAPI(
        title="Rootbound", docs_url=None, redoc_url=None, openapi_url=None, lifespan=few_threads
    )
    desk = Desk(service)
    app.state.desk = desk
    for room in WITHOUT_SIGNING_IN:
        app.include_router(room.router(desk))
    app.include_router(assets.router())
    for one in PAGES:
        app.include_router(one.routes)
    app.mount(PATH, make_api(desk))
    _answers_to_the_lost(app)
    app.add_middleware(Guard, pace=Pace(service.clock))
    return app


@asynccontextmanager
async def few_threads(app: FastAPI) -> AsyncGenerator[None]:
    """Answer in a few threads: Python runs one at a time, and many only wait for each other."""
    from anyio.to_thread import current_default_thread_limiter

    current_default_thread_limiter().total_tokens = THREADS
    yield
    app.state.desk.dressing.close()


def _answers_to_the_lost(app: FastAPI) -> None:
    """What somebody sees who asks for what is not there, or not theirs."""

    @app.exception_handler(SignInNeeded)
    async def sign_in_first(request: Request, error: SignInNeeded) -> Response:
        del request
        from urllib.parse import quote

        return RedirectResponse(f"/sign-in?to={quote(safe_path(error.back), safe='')}", 303)

    @app.exception_handler(NotYours)
    async def not_yours(request: Request, error: NotYours) -> Response:
        del request
        return page("said", 403, title="Not allowed", lines=(error.why,), way=("/today", "Today"))

    @app.exception_handler(NotThere)
    @app.exception_handler(404)
    async def not_there(request: Request, error: Exception) -> Response:
        del request, error
        return page("said", 404, title="Not here", lines=(NOT_HERE,), way=("/today", "Today"))

    app.add_exception_handler(RequestValidationError, not_understood)
    app.add_exception_handler(HTTPException, not_understood)
