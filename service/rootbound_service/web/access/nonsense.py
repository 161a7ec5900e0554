"""What somebody sees whose address or question has a value that it cannot have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException

from rootbound_service.web.parts import page

if TYPE_CHECKING:
    from fastapi import Request
    from fastapi.responses import Response

LINE = (
    "The address of this page has a part that we cannot read. It was cut short, or changed on its "
    "way. Nothing was stored. Go back and follow the link again, or begin at Today."
)


async def not_understood(request: Request, error: Exception) -> Response:
    """Answer a request whose address, question, form or method is of the wrong kind.

    Parameters
    ----------
    request
        The request.
    error
        What did not fit; its words are for programs.
    """
    del request
    status = error.status_code if isinstance(error, HTTPException) else 422
    answer = page("said", status, title="Not understood", lines=(LINE,), way=("/today", "Today"))
    if isinstance(error, HTTPException):
        answer.headers.update(error.headers or {})  # such as which methods there are
    return answer
