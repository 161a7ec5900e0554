"""Reads JSON answers strictly: what is not as documented is refused by name."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, NoReturn, cast

from rootbound_service.public.http import Unavailable

if TYPE_CHECKING:
    from rootbound_service.public.http import Reply

OK = 200

Json = dict[str, object]


def read_json(reply: Reply, who: str) -> object:
    """Decode a body, telling a web page from a cut answer from nonsense.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the place, for the error's sentence.

    Returns
    -------
    object
        What the JSON says: no name twice in an object, no NaN.

    Raises
    ------
    Unavailable
        If it is no JSON; one that was cut short may be asked for again.
    """
    if reply.is_web_page:
        what = "answered with a web page instead of data"
        if reply.status != OK:
            what += f" (HTTP {reply.status})"
        raise Unavailable(who, what, retry_later=True)
    try:
        return json.loads(reply.content, object_pairs_hook=_once_each, parse_constant=_no_constant)
    except _Twice as error:
        odd(who, f"{error} is there twice")
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as error:
        what = "the answer was cut short or is no data"
        raise Unavailable(who, what, retry_later=True) from error
    except ValueError as error:
        odd(who, str(error))


def read_object(reply: Reply, who: str) -> Json:
    """Decode a body that must be one JSON object.

    Parameters
    ----------
    reply, who
        As for :func:`read_json`.

    Raises
    ------
    Unavailable
        If it is anything else.
    """
    document = read_json(reply, who)
    if not isinstance(document, dict):
        odd(who, "the answer is no JSON object")
    return cast("Json", document)


def part(whole: Json, name: str, who: str) -> Json:
    """Take one object out of an answer by name.

    Parameters
    ----------
    whole, name
        Where, and which.
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If it is not there or no object.
    """
    found = whole.get(name)
    if not isinstance(found, dict):
        odd(who, f"{name} is missing from the answer")
    return cast("Json", found)


def items(whole: Json, name: str, who: str) -> list[object]:
    """Take one list out of an answer by name.

    Parameters
    ----------
    whole, name
        Where, and which.
    who
        For the error's sentence.

    Raises
    ------
    Unavailable
        If it is not there or no list.
    """
    found = whole.get(name)
    if not isinstance(found, list):
        odd(who, f"{name} is missing from the answer")
    return cast("list[object]", found)


def is_number(value: object) -> bool:
    """Tell whether a JSON value is a number; true and false are none."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def odd(who: str, what: str) -> NoReturn:
    """Refuse an answer whose shape is not the documented one.

    Parameters
    ----------
    who, what
        The service, and what is wrong, as the end of a sentence.

    Raises
    ------
    Unavailable
        Always; asking again would bring the same.
    """
    raise Unavailable(who, what, retry_later=False)


class _Twice(ValueError):
    """A name that occurs twice in one object."""


def _once_each(pairs: list[tuple[str, object]]) -> Json:
    """Build an object, refusing a name that comes twice; JSON itself would keep the last."""
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        raise _Twice(next(name for name in names if names.count(name) > 1))
    return found


def _no_constant(name: str) -> NoReturn:
    """Refuse NaN and the infinities, which are no JSON."""
    message = f"a value is {name}, which is no number"
    raise ValueError(message)
