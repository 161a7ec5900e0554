"""Polite HTTP to public services: retries, time-outs, and errors a person understands."""

from __future__ import annotations

import time
from dataclasses import dataclass
from http import HTTPStatus
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter
from urllib3.exceptions import MaxRetryError, ReadTimeoutError
from urllib3.util import Retry

from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

PASSING_STATUS = (429, 500, 502, 503, 504)
USER_AGENT = "rootbound (field weather, one request at a time)"


class WeatherUnavailable(ServiceError):
    """A weather service gave nothing that can be used; what is stored stays as it was.

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


@dataclass(frozen=True, slots=True)
class Patience:
    """How long to wait, how often to ask again, how far apart. [s]"""

    timeout_s: float = 60.0
    retries: int = 4
    backoff_s: float = 1.0
    backoff_jitter_s: float = 0.5
    longest_wait_s: int = 300
    """The longest wait that a service may order with Retry-After."""
    pause_s: float = 0.0
    """Between two requests to one host."""


@dataclass(frozen=True, slots=True)
class Reply:
    """A whole answer, of whatever status a retry would not change."""

    status: int
    content: bytes
    content_type: str

    @property
    def is_web_page(self) -> bool:
        """Whether it is a page for people, as a proxy or an outage gives."""
        return "html" in self.content_type or self.content.lstrip()[:1] == b"<"


def open_session(patience: Patience) -> requests.Session:
    """Open a session that asks again when the trouble may pass, GET only.

    Parameters
    ----------
    patience
        How often, and how far apart.

    Returns
    -------
    requests.Session
        The session; close it when done.
    """
    retry = Retry(
        total=patience.retries,
        read=min(1, patience.retries),  # a silent service costs a whole time-out each
        status_forcelist=PASSING_STATUS,
        allowed_methods={"GET"},
        backoff_factor=patience.backoff_s,
        backoff_jitter=patience.backoff_jitter_s,
        respect_retry_after_header=True,
        retry_after_max=patience.longest_wait_s,
        raise_on_status=False,
    )
    session = requests.Session()
    session.mount("http://", HTTPAdapter(max_retries=retry))
    session.mount("https://", HTTPAdapter(max_retries=retry))
    session.headers["User-Agent"] = USER_AGENT
    return session


class Caller:
    """Asks public services, one request at a time.

    Parameters
    ----------
    patience
        Time-outs, retries and the pause between requests to one host.
    sleep
        Waits the pause; an argument so that tests do not.
    """

    def __init__(
        self, patience: Patience | None = None, sleep: Callable[[float], None] = time.sleep
    ) -> None:
        self._patience = patience or Patience()
        self._sleep = sleep
        self._session = open_session(self._patience)
        self._hosts: set[str] = set()

    def get(self, url: str, query: Mapping[str, str], who: str) -> Reply:
        """Ask once, with the retries that patience allows.

        Parameters
        ----------
        url, query
            What to ask.
        who
            The service and the cell, for the error's sentence.

        Returns
        -------
        Reply
            The answer, read to its end.

        Raises
        ------
        WeatherUnavailable
            If no whole answer came, or the service said it is busy or broken.
        """
        self._be_polite(url)
        try:
            got = self._session.get(url, params=query, timeout=self._patience.timeout_s)
        except requests.RequestException as error:
            what = _sentence(error, self._patience.timeout_s)
            raise WeatherUnavailable(who, what, retry_later=True) from error
        if got.status_code in PASSING_STATUS:
            raise WeatherUnavailable(who, _busy(got.status_code), retry_later=True)
        return Reply(got.status_code, got.content, got.headers.get("Content-Type", ""))

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def _be_polite(self, url: str) -> None:
        """Pause before every request to a host but the first."""
        host = urlsplit(url).netloc
        if host in self._hosts and self._patience.pause_s > 0:
            self._sleep(self._patience.pause_s)
        self._hosts.add(host)


def _busy(status: int) -> str:
    """Say what a status means that may pass."""
    if status == HTTPStatus.TOO_MANY_REQUESTS:
        return "asks us to come back later (HTTP 429)"
    return f"is not well (HTTP {status})"


def _sentence(error: requests.RequestException, timeout_s: float) -> str:
    """Say what went wrong on the way, for a person."""
    cause = error.args[0] if error.args else None
    if isinstance(cause, MaxRetryError):
        cause = cause.reason
    if isinstance(error, requests.Timeout) or isinstance(cause, ReadTimeoutError):
        return f"did not answer within {timeout_s:g} s"
    if isinstance(error, requests.exceptions.ChunkedEncodingError):
        return "the answer was cut short"
    if isinstance(error, requests.exceptions.SSLError):
        return "no secure connection could be made"
    if isinstance(error, requests.exceptions.TooManyRedirects):
        return "sent us from one address to the next without end"
    return "could not be reached"
