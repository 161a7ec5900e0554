"""What somebody sees whose address or question has a value that it cannot have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.web.parts import page

if TYPE_CHECKING:
    from fastapi import Request
    from fastapi.responses import Response

LINE = (
    "The address of this page has a part that we cannot read. It was cut short, or changed on its "
    "way. Nothing was stored. Go back and follow the link again, or begin at Today."
)


async def not_understood(request: Request, error: Exception) -> Response:
    """Answer a request whose address, question or form has a value of the wrong kind.

    Parameters
    ----------
    request
        The request.
    error
        What did not fit; its words are for programs.
    """
    del request, error
    return page("said", 422, title="Not understood", lines=(LINE,), way=("/today", "Today"))
