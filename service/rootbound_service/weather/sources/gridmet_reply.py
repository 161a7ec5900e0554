"""Tells data from the errors that OPeNDAP sends in their place."""

from __future__ import annotations

import re
from http import HTTPStatus
from typing import NoReturn

from rootbound_service.public.http import Reply, Unavailable

ERROR = re.compile(r"\s*Error\s*\{")
CODE = re.compile(r"code\s*=\s*(\d{1,6})\s*;")
MESSAGE = re.compile(r"message\s*=\s*\"(.*?)\"\s*;", re.DOTALL)
PAST_THE_END = "stop >= size"
LONGEST_REASON = 200
LASTING = {3, 4, 5, 400, 403}
"""Codes of errors that the same request would meet again [meaning from memory]."""


def text_of(reply: Reply, who: str) -> str:
    """Read an answer of OPeNDAP as text; its error documents may come with HTTP 200.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the cells, for the error's sentence.

    Raises
    ------
    Unavailable
        If the answer is an error, a web page or no text.
    """
    if reply.is_web_page:
        what = f"answered with a web page instead of data (HTTP {reply.status})"
        raise Unavailable(who, what, retry_later=True)
    text = reply.content.decode("ascii", errors="replace")
    if ERROR.match(text):
        code, said = CODE.search(text), MESSAGE.search(text)
        why = said[1].strip()[:LONGEST_REASON] if said else "without a reason"
        # The axis of days starts anew on the server now and then; next time we read its length.
        lasting = code is not None and int(code[1]) in LASTING and PAST_THE_END not in why
        raise Unavailable(who, f"refused the request: {why}", retry_later=not lasting)
    if reply.status != HTTPStatus.OK:
        raise Unavailable(who, f"refused the request (HTTP {reply.status})", retry_later=False)
    return text


def cut_short(who: str) -> NoReturn:
    """Refuse an answer that broke off; asking again may bring all of it."""
    raise Unavailable(who, "the answer was cut short", retry_later=True)
