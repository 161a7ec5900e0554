"""The API's application, mounted under /api/v1: its own schema, its own errors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import FastAPI, Request
from fastapi.responses import Response

from rootbound_service.web.api import account, fields, records
from rootbound_service.web.api.examples import EXAMPLES
from rootbound_service.web.api.problems import ProblemOut, answer_with_problems
from rootbound_service.web.parts import page

if TYPE_CHECKING:
    from rootbound_service.web.parts import Desk

PATH = "/api/v1"
ABOUT = (
    "Everything the pages do. Figures are in SI units with the unit in the name, days as "
    "year-month-day. Errors are problem+json (RFC 9457). A POST with Idempotency-Key may be sent "
    "again. Lists come by pages: send next as after."
)


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
        servers=[{"url": PATH}],
        root_path_in_servers=False,
    )
    api.state.desk = desk
    for room in (fields, records, account):
        api.include_router(room.routes)
    answer_with_problems(api)
    _describe(api)

    @api.get("/docs", include_in_schema=False)
    def docs(request: Request) -> Response:
        base = desk.service.settings.base_url or str(request.base_url).split("/api/")[0]
        paths = [
            (method.upper(), f"{PATH}{path}", told.get("description") or told.get("summary", ""))
            for path, methods in api.openapi()["paths"].items()
            for method, told in methods.items()
        ]
        return page("api", base=base.rstrip("/"), paths=paths, about=ABOUT, examples=EXAMPLES)

    return api


def _describe(api: FastAPI) -> None:
    """Put the shape of errors into the schema, where the routes point to it."""
    usual = api.openapi

    def described() -> dict[str, object]:
        schema = usual()
        shapes = schema.setdefault("components", {}).setdefault("schemas", {})
        if "ProblemOut" not in shapes:
            told = ProblemOut.model_json_schema(ref_template="#/components/schemas/{model}")
            shapes.update(told.pop("$defs", {}))
            shapes["ProblemOut"] = told
        return schema

    api.openapi = described  # type: ignore[method-assign]  # as the framework's own page says
