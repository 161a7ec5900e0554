"""How long we wait for a public service, how often we ask again, and who decides the wait."""

from __future__ import annotations

import time
from dataclasses import dataclass
from email.utils import mktime_tz, parsedate_tz
from typing import TYPE_CHECKING, Any

import requests
from requests.adapters import HTTPAdapter
from urllib3.util import Retry

if TYPE_CHECKING:
    from collections.abc import Callable

    from urllib3.response import BaseHTTPResponse

PASSING_STATUS = (429, 500, 502, 503, 504)
USER_AGENT = "rootbound (field weather, one request at a time)"
ANY_METHOD = frozenset({"GET", "POST"})
MOST_DIGITS = 9


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
    longest_answer_s: float = 600.0
    """The longest that one answer may take to arrive, however steadily it drips."""
    longest_download_s: float = 3600.0
    """The same for a large file."""
    most_bytes: int = 256 * 1024 * 1024
    """The largest answer that is read into memory. [bytes]"""


class PatientRetry(Retry):
    """Asks again as the library does; waits by our clock and counts every request.

    A wait is told by the service in seconds or as a date. A date is held against the answer's own
    date, never against our clock: set wrong, here or there, it makes no wait longer.
    """

    wait: Callable[[float], None] = staticmethod(time.sleep)
    repeat: Callable[[], None] = staticmethod(lambda: None)

    def new(self, **changes: Any) -> PatientRetry:
        """Make the next attempt's state; carries our two functions on.

        Parameters
        ----------
        **changes
            As the library gives them.
        """
        again = super().new(**changes)
        again.wait = self.wait
        again.repeat = self.repeat
        return again

    def increment(self, *args: Any, **kwargs: Any) -> PatientRetry:
        """Count one more attempt; raises the library's error when there were enough.

        Parameters
        ----------
        *args, **kwargs
            As the library gives them.
        """
        again: PatientRetry = super().increment(*args, **kwargs)
        self.repeat()
        return again

    def get_retry_after(self, response: BaseHTTPResponse) -> float | None:
        """Read how long the service orders us to wait; nonsense is no order. [s]

        Parameters
        ----------
        response
            Its answer.
        """
        ordered = (response.headers.get("Retry-After") or "").strip()
        if ordered.isascii() and ordered.isdigit():
            seconds = float(ordered) if len(ordered) <= MOST_DIGITS else float(self.retry_after_max)
        else:
            until = _seconds_of(ordered)
            now = _seconds_of(response.headers.get("Date") or "")
            if until is None or now is None:
                return None
            seconds = until - now
        return min(max(seconds, 0.0), float(self.retry_after_max))

    def sleep(self, response: BaseHTTPResponse | None = None) -> None:
        """Wait before asking again: as ordered, else longer each time.

        Parameters
        ----------
        response
            The answer that was no good; None where none came.
        """
        ordered = None if response is None else self.get_retry_after(response)
        seconds = ordered or self.get_backoff_time()
        if seconds > 0:
            self.wait(seconds)


def open_session(
    patience: Patience,
    user_agent: str = USER_AGENT,
    wait: Callable[[float], None] = time.sleep,
    repeat: Callable[[], None] = lambda: None,
    methods: frozenset[str] = frozenset({"GET"}),
) -> requests.Session:
    """Open a session that asks again when the trouble may pass, GET only unless told.

    Parameters
    ----------
    patience
        How often, and how far apart.
    user_agent
        How we name ourselves.
    wait
        Waits some seconds between attempts.
    repeat
        Called for every request after the first.
    methods
        What may be repeated; POST only where it changes nothing at the service.

    Returns
    -------
    requests.Session
        The session; close it when done.
    """
    retry = PatientRetry(
        total=patience.retries,
        read=min(1, patience.retries),  # a silent service costs a whole time-out each
        status_forcelist=PASSING_STATUS,
        allowed_methods=methods,
        backoff_factor=patience.backoff_s,
        backoff_jitter=patience.backoff_jitter_s,
        respect_retry_after_header=True,
        retry_after_max=patience.longest_wait_s,
        raise_on_status=False,
    )
    retry.wait, retry.repeat = wait, repeat
    session = requests.Session()
    session.mount("http://", HTTPAdapter(max_retries=retry))
    session.mount("https://", HTTPAdapter(max_retries=retry))
    session.headers["User-Agent"] = _plain(user_agent)
    return session


def _plain(text: str) -> str:
    """A header's text without what no header can carry."""
    kept = "".join(sign for sign in text if sign.isprintable())
    return kept.encode("ascii", "replace").decode()


def _seconds_of(text: str) -> float | None:
    """Read an HTTP date; None where it is none. [s since 1970]"""
    try:
        parts = parsedate_tz(text)
        return None if parts is None else float(mktime_tz(parts))
    except (ValueError, OverflowError, IndexError, TypeError):
        return None
