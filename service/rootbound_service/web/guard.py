"""What stands before every page: how much is read, how often one may ask, which headers go out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.datastructures import MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse

if TYPE_CHECKING:
    from starlette.responses import Response
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from rootbound_service.web.pace import Pace

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; "
        "worker-src 'self'; manifest-src 'self'; img-src 'self' data: blob:; form-action 'self'; "
        "base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "private, no-store",
    "Permissions-Policy": "geolocation=(self), camera=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
"""Of every answer; a room may set its own instead. Only scripts of our own files run."""
WITH_TLS = {"Strict-Transport-Security": "max-age=31536000"}
"""Besides, to a browser that came by TLS (RFC 6797 7.2)."""
FAILED = (
    "Something broke on our side, and it was written down for whoever runs the service.",
    "Nothing of what you sent was stored. Go back, and try again in a minute.",
)
USUAL_BYTES = 64_000
MOST_BYTES = (
    ("/in/mail", 6_000_000),
    ("/fields/import", 6_000_000),
    ("/fields/new", 6_000_000),
    ("/fields/", 14_000_000),
    ("/api/", 14_000_000),
)
"""Longest body that is read under a path; the first that fits counts."""
MOST_NUMBER = 2**31 - 1
"""No row has a higher one; a database refuses to compare with what it cannot hold."""
NOWHERE = "/not-here"


class Guard:
    """Turns away what is too long or too often, before any room sees it.

    Parameters
    ----------
    app
        The application behind it.
    pace
        Counts the calls of each address.
    """

    def __init__(self, app: ASGIApp, pace: Pace) -> None:
        self._app = app
        self._pace = pace

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        app: ASGIApp = self._app
        path, method = scope["path"], scope["method"]
        if not self._pace.allows((scope.get("client") or ("", 0))[0], path, method):
            app = _refusal(path, 429, "too often; wait a minute", {"Retry-After": "60"})
        elif method not in {"GET", "HEAD", "OPTIONS"}:
            body = await _body(receive, most_bytes(path))
            if body is None:
                # what was not read must not be taken for the next request
                app = _refusal(path, 413, "too long", {"Connection": "close"})
            else:
                receive = _again(body, receive)
        if names_nothing(path):
            scope = {**scope, "path": NOWHERE, "raw_path": NOWHERE.encode()}
        answer = _Answer(send, with_tls=scope.get("scheme") == "https")
        try:
            await app(scope, receive, answer.put)
        except Exception:
            if not answer.begun:
                await _failed(path)(scope, receive, answer.put)
            raise  # the server writes it down


def most_bytes(path: str) -> int:
    """Longest body that is read under a path."""
    return next((most for begin, most in MOST_BYTES if path.startswith(begin)), USUAL_BYTES)


def names_nothing(path: str) -> bool:
    """Whether a page is asked for by a number that none of ours can have."""
    if path.startswith("/api/"):  # says what is wrong with a number in its own way
        return False
    numbers = [one for one in path.split("/") if one.isdecimal()]
    return any(len(one) > 10 or int(one) > MOST_NUMBER for one in numbers)  # noqa: PLR2004


def _refusal(path: str, status: int, why: str, headers: dict[str, str]) -> Response:
    """What is answered before any room is asked; programs get their own shape."""
    if path.startswith("/api/"):
        from rootbound_service.web.api.problems import problem

        return problem(path, status, why, headers=headers)
    return PlainTextResponse(why, status, headers)


def _failed(path: str) -> Response:
    """What somebody sees when we failed: nothing of our inside."""
    if path.startswith("/api/"):
        problem = {"type": "about:blank", "title": "Internal Server Error", "status": 500}
        return JSONResponse(problem, 500, media_type="application/problem+json")
    from rootbound_service.web.parts import page

    return page("said", 500, title="This went wrong here", lines=FAILED, way=("/today", "Today"))


async def _body(receive: Receive, most: int) -> bytes | None:
    """Read a body, counted as it comes: a caller need not say how long it is (RFC 9112 7.1)."""
    parts, length = list[bytes](), 0
    while True:
        message = await receive()
        if message["type"] != "http.request":  # the caller has gone
            return b"".join(parts)
        part = message.get("body", b"")
        length += len(part)
        if length > most:
            return None
        parts.append(part)
        if not message.get("more_body", False):
            return b"".join(parts)


def _again(body: bytes, receive: Receive) -> Receive:
    """Give a body that was read once more, then whatever comes after it."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def give() -> Message:
        return waiting.pop() if waiting else await receive()

    return give


class _Answer:
    """Puts the headers on an answer that does not set its own."""

    def __init__(self, send: Send, *, with_tls: bool) -> None:
        self._send = send
        self._headers = HEADERS | (WITH_TLS if with_tls else {})
        self.begun = False

    async def put(self, message: Message) -> None:
        """Send a part of the answer."""
        if message["type"] == "http.response.start":
            self.begun = True
            headers = MutableHeaders(scope=message)
            for name, value in self._headers.items():
                headers.setdefault(name, value)
        await self._send(message)
