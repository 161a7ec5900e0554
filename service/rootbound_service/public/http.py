"""Polite HTTP to public services: retries, time-outs, and errors a person understands."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import requests
from urllib3.exceptions import HTTPError

from rootbound_service.public.download import keep_body
from rootbound_service.public.pace import Pace, Turns
from rootbound_service.public.patience import (
    ANY_METHOD,
    PASSING_STATUS,
    USER_AGENT,
    Patience,
    open_session,
)
from rootbound_service.public.reply import Reply
from rootbound_service.public.trouble import Busy, Unavailable, on_the_way

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

__all__ = ["USER_AGENT", "Busy", "Caller", "Pace", "Patience", "Reply", "Unavailable"]

OK = 200
CHUNK = 256 * 1024


class Caller:
    """Asks public services, one request at a time.

    Parameters
    ----------
    patience
        Time-outs, retries and the pause between requests to one host.
    sleep
        Waits the pause; an argument so that tests do not.
    user_agent
        How we name ourselves: with a contact, as some services insist.
    now
        Seconds of a clock that is never set.
    """

    def __init__(
        self,
        patience: Patience | None = None,
        sleep: Callable[[float], None] = time.sleep,
        *,
        user_agent: str = USER_AGENT,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._patience = patience or Patience()
        self._pace = Pace(self._patience.pause_s)
        self._now = now
        self._turns = Turns(sleep, now)
        self._host: str = ""
        self._session = open_session(
            self._patience, user_agent, sleep, lambda: self._turns.count(self._host), ANY_METHOD
        )

    @property
    def asked(self) -> dict[str, int]:
        """How many requests went to each host since the run began, retries counted."""
        return dict(self._turns.asked)

    def begin_run(self) -> None:
        """Start counting anew: a budget is for one run."""
        self._turns.asked.clear()

    def get(
        self,
        url: str,
        query: Mapping[str, str] | Sequence[tuple[str, str]] | None,
        who: str,
        *,
        accept: str | None = None,
        headers: Mapping[str, str] | None = None,
        pace: Pace | None = None,
    ) -> Reply:
        """Ask once, with the retries that patience allows.

        Parameters
        ----------
        url, query
            What to ask.
        who
            The service and the cell, for the error's sentence.
        accept
            The kind of answer wanted, as services that have several need it.
        headers
            Further ones, such as the condition that the answer has changed.
        pace
            How hard this source may be asked; None: as patience says.

        Returns
        -------
        Reply
            The answer, read to its end; one of status 304 has no content.

        Raises
        ------
        Unavailable
            If no whole answer came, or the service said it is busy or broken (:class:`Busy`).
        """
        request = requests.Request("GET", url, _headers(headers, Accept=accept), params=query)
        return self._whole(request, who, pace)

    def post(
        self,
        url: str,
        body: bytes | str,
        who: str,
        *,
        content_type: str,
        accept: str | None = None,
        pace: Pace | None = None,
    ) -> Reply:
        """Ask with a body; repeated like a GET, so only for what changes nothing there.

        Parameters
        ----------
        url, body
            What to ask.
        who
            The service and the place, for the error's sentence.
        content_type
            What the body is.
        accept
            The kind of answer wanted.
        pace
            How hard this source may be asked; None: as patience says.

        Raises
        ------
        Unavailable
            As for :meth:`get`.
        """
        data = body.encode() if isinstance(body, str) else body
        headers = _headers(None, Accept=accept, **{"Content-Type": content_type})
        return self._whole(requests.Request("POST", url, headers, data=data), who, pace)

    def download(
        self, url: str, path: Path, who: str, *, headers: Mapping[str, str] | None = None
    ) -> Reply:
        """Bring a large body into a file, which is there whole or as it was before.

        Parameters
        ----------
        url
            What to ask.
        path
            The file; its folder must exist.
        who
            The service and the file, for the error's sentence.
        headers
            Further ones, such as the condition that the file has changed.

        Returns
        -------
        Reply
            Without content where the file came (200) or has not changed (304); of any other
            status with it, and the file untouched.

        Raises
        ------
        Unavailable
            As for :meth:`get`, or if the file cannot be written.
        """
        request = requests.Request("GET", url, _headers(headers))
        with self._open(request, who, None) as got:
            if got.status_code != OK:
                return self._read(got, who)
            keep_body(
                self._pieces(got, who, self._patience.longest_download_s), got.headers, path, who
            )
            return _reply(got, b"")

    def close(self) -> None:
        """Close the connections."""
        self._session.close()

    def _whole(self, request: requests.Request, who: str, pace: Pace | None) -> Reply:
        """Ask and read the answer into memory."""
        with self._open(request, who, pace) as got:
            return self._read(got, who)

    def _open(self, request: requests.Request, who: str, pace: Pace | None) -> requests.Response:
        """Wait for our turn, ask, and read the head of the answer."""
        self._host = urlsplit(str(request.url)).netloc
        self._turns.take(self._host, pace or self._pace, who)
        try:
            ready = self._session.prepare_request(request)
            how = self._session.merge_environment_settings(
                ready.url, proxies={}, stream=True, verify=None, cert=None
            )
            return self._session.send(ready, timeout=self._patience.timeout_s, **how)
        except (requests.RequestException, HTTPError, ValueError) as error:
            what = on_the_way(error, self._patience.timeout_s)
            raise Unavailable(who, what, retry_later=True) from None  # it holds the whole address

    def _read(self, got: requests.Response, who: str) -> Reply:
        """Read an answer to its end; a status that may pass is an error by now."""
        body = bytearray()
        for piece in self._pieces(got, who, self._patience.longest_answer_s):
            body += piece
            if len(body) > self._patience.most_bytes:
                what = f"the answer is larger than {self._patience.most_bytes} bytes"
                raise Unavailable(who, what, retry_later=False)
        reply = _reply(got, bytes(body))
        if reply.status in PASSING_STATUS:
            raise Busy(who, reply)
        return reply

    def _pieces(self, got: requests.Response, who: str, longest_s: float) -> Iterator[bytes]:
        """Give a body as it arrives, as long as it does not take for ever."""
        begun = self._now()
        try:
            for piece in got.iter_content(CHUNK):
                yield piece
                if self._now() - begun > longest_s:
                    what = f"the answer was not whole after {longest_s:g} s"
                    raise Unavailable(who, what, retry_later=True)
        except (requests.RequestException, HTTPError, ValueError) as error:
            what = on_the_way(error, self._patience.timeout_s)
            raise Unavailable(who, what, retry_later=True) from None  # it holds the whole address


def _headers(more: Mapping[str, str] | None, **ours: str | None) -> dict[str, str]:
    """Join the headers of a request, leaving out those not given."""
    return {
        **(more or {}),
        **{name: value for name, value in ours.items() if value is not None},
    }


def _reply(got: requests.Response, content: bytes) -> Reply:
    """An answer in our own form."""
    return Reply(got.status_code, content, got.headers.get("Content-Type", ""), got.headers)
