"""How long a body may be, said in the API's own way before any of it is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.intake.photos import MB, UPLOAD_BYTES
from rootbound_service.web.api.problems import problem

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

JSON_BYTES = 64_000
"""Of everything but a photo: the longest dig card has a tenth of it."""
AROUND = 10_000
"""What a form puts around a photo."""


class Size:
    """Turns away what is too long.

    Parameters
    ----------
    app
        The application behind it.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request; what comes has been read and counted once by the guard."""
        if scope["type"] != "http" or scope["method"] in {"GET", "HEAD", "OPTIONS"}:
            await self._app(scope, receive, send)
            return
        most = UPLOAD_BYTES + AROUND if scope["path"].endswith("/photos") else JSON_BYTES
        body, waiting = b"", True
        while waiting and len(body) <= most:
            message = await receive()
            body += message.get("body", b"")
            waiting = message["type"] == "http.request" and message.get("more_body", False)
        if len(body) > most:
            told = f"The body is too long: at most {_amount(most)} are read here."
            await problem(scope["path"], 413, told)(scope, receive, send)
            return
        await self._app(scope, _again(body, receive), send)


def _amount(most: int) -> str:
    return f"{most // MB} MB" if most > MB else f"{most // 1000} kB"


def _again(body: bytes, receive: Receive) -> Receive:
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def give() -> Message:
        return waiting.pop() if waiting else await receive()

    return give
