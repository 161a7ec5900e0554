"""What the National Weather Service means when it refuses or fails."""

from __future__ import annotations

import json
import re
from http import HTTPStatus
from typing import TYPE_CHECKING, NoReturn, cast

from rootbound_service.public.http import Unavailable

if TYPE_CHECKING:
    from rootbound_service.public.http import Reply
    from rootbound_service.public.replies import Json

DRIFTED = frozenset({"InvalidGridpoint", "MarineForecastNotSupported", "NotFound"})
"""The grid has moved under a place that we had looked up."""

MEANINGS = {
    "InvalidPoint": "has no forecast for this place",
    "MarineForecastNotSupported": "has no forecast for this place: it is at sea",
    "InvalidGridpoint": "does not know the grid point that it gave us",
    "ForecastGridExpired": "the office has stopped sending its forecast",
    "ForecastMissingData": "the office has sent a forecast with parts missing",
    "UnavailableWebService": "is not well",
    "UnexpectedProblem": "is not well",
}


def problem_of(reply: Reply) -> str:
    """Name the problem that an answer tells of, such as ``ForecastGridExpired``.

    Parameters
    ----------
    reply
        Of any status but 200.

    Returns
    -------
    str
        Last piece of the problem's type, be it an address or a name with colons; else its
        title in one word; empty where it tells of none.
    """
    try:
        document: object = json.loads(reply.content)
    except (ValueError, RecursionError):
        return ""
    if not isinstance(document, dict):
        return ""
    problem = cast("Json", document)
    for name in ("type", "title"):
        last = re.split(r"[/:#]", str(problem.get(name) or ""))[-1]
        word = "".join(re.findall(r"[A-Za-z]+", last))[:40]
        if word and word != "blank":
            return word
    return ""


def refuse(reply: Reply, who: str) -> NoReturn:
    """Say what a refusal means.

    Parameters
    ----------
    reply
        Of any status but 200.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        Always; whether asking again may help goes by the status.
    """
    problem = problem_of(reply)
    told = f" ({problem}, HTTP {reply.status})" if problem else f" (HTTP {reply.status})"
    meaning = MEANINGS.get(problem, "refused the request")
    if reply.status == HTTPStatus.FORBIDDEN:
        meaning = "refused us: it wants a contact in the name we give"
    later = reply.status >= HTTPStatus.INTERNAL_SERVER_ERROR
    if reply.status == HTTPStatus.TOO_MANY_REQUESTS:
        meaning, later = "asks us to come back later", True
    elif later and problem not in MEANINGS:
        meaning = "is not well"
    raise Unavailable(who, meaning + told, retry_later=later)
