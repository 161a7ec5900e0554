"""Errors of the API: one shape for all of them (RFC 9457)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import Field
from starlette.exceptions import HTTPException

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.intake.wrong import shown
from rootbound_service.web.access.reader import NotThere, NotYours
from rootbound_service.web.api.base import Out

MIME = "application/problem+json"
ALWAYS = (401, 403, 422, 429)
"""What every route may answer."""
SENDING = (400, 409, 413, 415)
"""And every route that takes something."""
PLAIN = {
    404: "There is no such address in the API. It is described in /api/v1/openapi.json.",
    405: "This address is not asked in this way. It is described in /api/v1/openapi.json.",
    400: "The body cannot be read. Send JSON.",
}


class ProblemPart(Out):
    """One thing that is wrong."""

    where: str = Field(description="The value, by its name", examples=["wall_class"])
    what: str = Field(description="What is wrong with it", examples=['"7" does not fit'])
    wanted: str = Field(description="What would be right", examples=["give 0, 1, 2 or 3"])


class ProblemOut(Out):
    """What went wrong (RFC 9457)."""

    type: str = Field(
        default="about:blank", description="Always about:blank: the status says the kind"
    )
    title: str = Field(description="The status in words", examples=["Not Found"])
    status: int = Field(description="HTTP status", examples=[404])
    detail: str = Field(default="", description="What happened, in a sentence or two")
    instance: str = Field(default="", description="Path that was asked for")
    problems: list[ProblemPart] = Field(
        default_factory=list[ProblemPart], description="Every value that is wrong, not only one"
    )


class Stop(Exception):
    """An answer that ends a call: status, sentence, headers."""

    def __init__(self, status: int, detail: str, headers: Mapping[str, str] | None = None) -> None:
        super().__init__(detail)
        self.status, self.detail, self.headers = status, detail, dict(headers or {})


def responses(*codes: int) -> dict[int | str, dict[str, Any]]:
    """Describe the errors of a route for the schema.

    Parameters
    ----------
    codes
        Beside 401, 403, 422 and 429, which every route may give.
    """
    return {
        code: {
            "description": HTTPStatus(code).phrase,
            "content": {MIME: {"schema": {"$ref": "#/components/schemas/ProblemOut"}}},
        }
        for code in sorted({*ALWAYS, *codes})
    }


def problem(
    path: str,
    status: int,
    detail: str = "",
    problems: Sequence[Problem] = (),
    headers: Mapping[str, str] | None = None,
) -> JSONResponse:
    """Answer with a problem.

    Parameters
    ----------
    path
        What was asked for.
    status
        HTTP status.
    detail
        A sentence.
    problems
        What is wrong, one by one.
    headers
        Further headers.
    """
    body = ProblemOut(
        title=HTTPStatus(status).phrase,
        status=status,
        detail=detail,
        instance=quote(path),
        problems=[ProblemPart(where=p.where, what=p.what, wanted=p.wanted) for p in problems],
    )
    return JSONResponse(body.model_dump(), status, dict(headers or {}), MIME)


def answer_with_problems(api: FastAPI) -> None:
    """Turn every error under the API into a problem.

    Parameters
    ----------
    api
        The API's application.
    """

    @api.exception_handler(Stop)
    async def stopped(request: Request, error: Stop) -> JSONResponse:
        return problem(request.url.path, error.status, error.detail, headers=error.headers)

    @api.exception_handler(NotThere)
    async def not_there(request: Request, error: NotThere) -> JSONResponse:
        return problem(request.url.path, 404, f"There is no such {error} in this account.")

    @api.exception_handler(NotYours)
    async def not_yours(request: Request, error: NotYours) -> JSONResponse:
        return problem(request.url.path, 403, error.why)

    @api.exception_handler(RefusedInput)
    async def refused(request: Request, error: RefusedInput) -> JSONResponse:
        return problem(request.url.path, 422, "Nothing was stored.", error.problems)

    @api.exception_handler(RequestValidationError)
    async def malformed(request: Request, error: RequestValidationError) -> JSONResponse:
        found = [_part(one) for one in error.errors()]
        return problem(request.url.path, 422, "Nothing was stored.", found)

    @api.exception_handler(HTTPException)
    async def plain(request: Request, error: HTTPException) -> JSONResponse:
        told = PLAIN.get(error.status_code, str(error.detail))
        return problem(request.url.path, error.status_code, told, headers=error.headers)

    @api.exception_handler(500)
    async def broken(request: Request, error: Exception) -> JSONResponse:
        del error  # it is logged; a caller learns nothing of our insides
        return problem(request.url.path, 500, "Something broke here. Nothing was stored.")


def _part(error: Mapping[str, Any]) -> Problem:
    """Say what the schema found, as every other refusal says it."""
    place, kind = error["loc"], error["type"]
    wanted = str(error["msg"]).removeprefix("Value error, ").replace("Input should", "it should")
    wanted = wanted[:1].lower() + wanted[1:]
    if kind == "json_invalid":
        return Problem("body", f"is no JSON from sign {place[-1]} on", "send JSON")
    where = ".".join(str(part) for part in place[1:]) or "body"
    if kind == "missing":
        return Problem(where, "is missing", "give it, as the schema describes it")
    if kind == "extra_forbidden":
        return Problem(where, "is not a known name", "leave it out, or look at the schema")
    given = error.get("input")
    said = shown(given) if isinstance(given, str | int | float) else "what was sent"
    return Problem(where, f"{said} does not fit", wanted)
