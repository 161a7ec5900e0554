"""Errors of the API: one shape for all of them (RFC 9457)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from rootbound_service.errors import RefusedInput
from rootbound_service.web.access.reader import NotThere, NotYours

if TYPE_CHECKING:
    from rootbound_service.errors import Problem

MIME = "application/problem+json"


class ProblemPart(BaseModel):
    """One thing that is wrong."""

    where: str
    what: str
    wanted: str


class ProblemOut(BaseModel):
    """What went wrong (RFC 9457)."""

    type: str = Field(
        default="about:blank", description="Always about:blank: the status says the kind."
    )
    title: str
    status: int
    detail: str = ""
    instance: str = ""
    problems: list[ProblemPart] = []


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
    every = {401, 403, 422, 429, *codes}
    return {
        code: {
            "description": HTTPStatus(code).phrase,
            "content": {MIME: {"schema": {"$ref": "#/components/schemas/ProblemOut"}}},
        }
        for code in sorted(every)
    }


def problem(
    request: Request,
    status: int,
    detail: str = "",
    problems: Sequence[Problem] = (),
    headers: Mapping[str, str] | None = None,
) -> JSONResponse:
    """Answer with a problem.

    Parameters
    ----------
    request
        The request.
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
        instance=request.url.path,
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
        return problem(request, error.status, error.detail, headers=error.headers)

    @api.exception_handler(NotThere)
    async def not_there(request: Request, error: NotThere) -> JSONResponse:
        return problem(request, 404, f"There is no such {error} in this account.")

    @api.exception_handler(NotYours)
    async def not_yours(request: Request, error: NotYours) -> JSONResponse:
        return problem(request, 403, error.why)

    @api.exception_handler(RefusedInput)
    async def refused(request: Request, error: RefusedInput) -> JSONResponse:
        return problem(request, 422, "Nothing was stored.", error.problems)

    @api.exception_handler(RequestValidationError)
    async def malformed(request: Request, error: RequestValidationError) -> JSONResponse:
        from rootbound_service.errors import Problem

        found = [
            Problem(".".join(str(part) for part in one["loc"]), one["msg"], "see openapi.json")
            for one in error.errors()
        ]
        return problem(request, 422, "The request is not as the schema says.", found)

    @api.exception_handler(HTTPException)
    async def plain(request: Request, error: HTTPException) -> JSONResponse:
        return problem(request, error.status_code, str(error.detail), headers=error.headers)

    @api.exception_handler(500)
    async def broken(request: Request, error: Exception) -> JSONResponse:
        del error  # it is logged; a caller learns nothing of our insides
        return problem(request, 500, "Something broke here. Nothing was stored.")
