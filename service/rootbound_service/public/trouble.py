"""What went wrong with a public service, as a sentence that a person understands."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING

import requests
from urllib3.exceptions import MaxRetryError, ReadTimeoutError

from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from rootbound_service.public.reply import Reply


class Unavailable(ServiceError):
    """A public service gave nothing that can be used; what is stored stays as it was.

    Parameters
    ----------
    who
        The service and the cell that was asked for.
    what
        What happened, as the end of a sentence.
    retry_later
        Whether asking again later can help.
    """

    def __init__(self, who: str, what: str, *, retry_later: bool) -> None:
        super().__init__(f"{who}: {what}")
        self.who = who
        self.what = what
        self.retry_later = retry_later


class Busy(Unavailable):
    """A service that said itself, after all retries, that it cannot answer now.

    Parameters
    ----------
    who
        The service and the cell that was asked for.
    reply
        Its last answer: some services say in it what the trouble is.
    """

    def __init__(self, who: str, reply: Reply) -> None:
        super().__init__(who, _busy(reply.status), retry_later=True)
        self.reply = reply


def on_the_way(error: Exception, timeout_s: float) -> str:
    """Say what went wrong between us and the service.

    Parameters
    ----------
    error
        What the library raised.
    timeout_s
        How long was waited. [s]
    """
    cause = error.args[0] if error.args else None
    if isinstance(cause, MaxRetryError):
        cause = cause.reason
    if isinstance(error, requests.Timeout) or isinstance(cause, ReadTimeoutError):
        return f"did not answer within {timeout_s:g} s"
    if isinstance(
        error, requests.exceptions.ChunkedEncodingError | requests.exceptions.ContentDecodingError
    ):
        return "the answer was cut short"
    if isinstance(error, requests.exceptions.SSLError):
        return "no secure connection could be made"
    if isinstance(error, requests.exceptions.TooManyRedirects):
        return "sent us from one address to the next without end"
    return "could not be reached"


def _busy(status: int) -> str:
    """Say what a status means that may pass."""
    if status == HTTPStatus.TOO_MANY_REQUESTS:
        return "asks us to come back later (HTTP 429)"
    return f"is not well (HTTP {status})"
