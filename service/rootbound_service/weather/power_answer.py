"""Reads an answer of NASA POWER; whatever is not as documented is refused by name."""

from __future__ import annotations

import hashlib
import json
from datetime import date, timedelta
from typing import TYPE_CHECKING, NoReturn, cast

import numpy as np

from rootbound_service.weather.day import Answer
from rootbound_service.weather.http import WeatherUnavailable
from rootbound_service.weather.power_names import FACTORS, PARAMETERS

if TYPE_CHECKING:
    from rootbound_rules.season.values import Series
    from rootbound_service.weather.http import Reply

FILL_TOLERANCE = 0.01
IMPOSSIBLE = 1e6
OK = 200

Json = dict[str, object]


def read_answer(reply: Reply, who: str, start: date, end: date) -> Answer:
    """Read the answer to one request for ``start`` through ``end``.

    Parameters
    ----------
    reply
        What came back.
    who
        The service and the cell, for the error's sentence.
    start, end
        The days that were asked for.

    Returns
    -------
    Answer
        Every quantity in our names and units.

    Raises
    ------
    WeatherUnavailable
        If the answer is no data, is not whole, or is not what was asked for.
    """
    document = _document(reply, who)
    header = document.get("header")
    if isinstance(header, str) or reply.status != OK:
        _refused(document, reply.status, who)
    header = _part(document, "header", who)
    if header.get("time_standard", "LST") != "LST":
        _odd(who, f"days run by {header['time_standard']}, local solar days (LST) were asked for")
    fill = header.get("fill_value")
    if not isinstance(fill, int | float):
        _odd(who, "the header names no fill_value")
    days = _days(start, end)
    table = _part(_part(document, "properties", who), "parameter", who)
    facts = _part(document, "parameters", who)
    columns: dict[str, Series] = {}
    for theirs, ours in PARAMETERS.items():
        values = _values(_part(table, theirs, who), theirs, days, who)
        values[np.abs(values - fill) < FILL_TOLERANCE] = np.nan
        if (np.abs(values) > IMPOSSIBLE).any():
            _odd(who, f"{theirs} holds a number that no weather has")
        columns[ours] = values * _factor(_part(facts, theirs, who), theirs, ours, who)
    sources = header.get("sources")
    return Answer(
        start=start,
        columns=columns,
        elevation_m=_elevation(document),
        origins=tuple(map(str, cast("list[object]", sources))) if isinstance(sources, list) else (),
        raw=reply.content,
        fingerprint=_fingerprint(document),
    )


def _document(reply: Reply, who: str) -> Json:
    """Decode the body, telling a web page from a cut answer from nonsense."""
    if reply.is_web_page:
        what = "answered with a web page instead of data"
        if reply.status != OK:
            what += f" (HTTP {reply.status})"
        raise WeatherUnavailable(who, what, retry_later=True)
    try:
        document = json.loads(
            reply.content, object_pairs_hook=_once_each, parse_constant=_no_constant
        )
    except _Twice as error:
        _odd(who, f"{error} is there twice")
    except (json.JSONDecodeError, UnicodeDecodeError) as error:
        what = "the answer was cut short or is no data"
        raise WeatherUnavailable(who, what, retry_later=True) from error
    except ValueError as error:
        _odd(who, str(error))
    if not isinstance(document, dict):
        _odd(who, "the answer is no table of days")
    return cast("Json", document)


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


def _refused(document: Json, status: int, who: str) -> NoReturn:
    """Pass on the service's own reasons."""
    messages = document.get("messages")
    if isinstance(messages, list) and messages:
        said = " ".join(map(str, cast("list[object]", messages)))
    else:
        said = str(document.get("header", "without a reason"))
    what = f"refused the request (HTTP {status}): {said}"
    raise WeatherUnavailable(who, what, retry_later=False)


def _part(whole: Json, name: str, who: str) -> Json:
    """Take one object out of the answer by name."""
    part = whole.get(name)
    if not isinstance(part, dict):
        _odd(who, f"{name} is missing from the answer")
    return cast("Json", part)


def _days(start: date, end: date) -> list[str]:
    """List the days asked for as the service writes them."""
    count = (end - start).days + 1
    return [(start + timedelta(days=i)).strftime("%Y%m%d") for i in range(count)]


def _values(series: Json, theirs: str, days: list[str], who: str) -> Series:
    """Put one parameter's values in the order of the days asked for."""
    if series.keys() != set(days):
        missing = sorted(set(days) - series.keys())
        extra = sorted(series.keys() - set(days))
        wrong = f"{missing[0]} is missing" if missing else f"{extra[0]} was not asked for"
        _odd(who, f"{theirs} has other days than asked for: {wrong}")
    values = [series[day] for day in days]
    if not set(map(type, values)) <= {int, float}:
        day = next(d for d in days if type(series[d]) not in (int, float))
        _odd(who, f"{theirs} of {day} is {series[day]!r}, which is no number")
    return np.array(values, dtype=np.float64)


def _factor(facts: Json, theirs: str, ours: str, who: str) -> float:
    """Find the factor from the unit that the answer names to ours."""
    units = facts.get("units")
    factor = FACTORS[ours].get(units.strip()) if isinstance(units, str) else None
    if factor is None:
        known = " or ".join(FACTORS[ours])
        _odd(who, f"{theirs} comes in {units!r}, a unit we do not know; known: {known}")
    return factor


def _elevation(document: Json) -> float | None:
    """Read the cell's mean elevation, the third coordinate. [m]"""
    geometry = document.get("geometry")
    if not isinstance(geometry, dict):
        return None
    coordinates = cast("Json", geometry).get("coordinates")
    if not isinstance(coordinates, list):
        return None
    third = cast("list[object]", coordinates)[2:3]
    return float(third[0]) if third and isinstance(third[0], int | float) else None


def _fingerprint(document: Json) -> str:
    """Hash what the answer says; ``times`` differs at every asking."""
    said = {name: part for name, part in document.items() if name != "times"}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _odd(who: str, what: str) -> NoReturn:
    """Refuse an answer whose shape is not the documented one."""
    raise WeatherUnavailable(who, what, retry_later=False)
