"""Open-Meteo's answers of days: one place or several, one member or many, held to their units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, NoReturn, cast

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import is_number, items, odd, part, read_json
from rootbound_service.weather.day import QUANTITY_NAMES

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from rootbound_service.public.http import Reply
    from rootbound_service.public.replies import Json

OK = 200
CUT = b"Unexpected error while streaming data"
"""What the service adds to an answer of status 200 that it could not finish."""
MOST_DAYS = 40
MOST_MEMBERS = 99
WIND = "wind_speed_10m_mean"


@dataclass(frozen=True, slots=True)
class Variable:
    """The service's name of a quantity, and what takes its units to ours."""

    name: str
    factors: Mapping[str, float]


VARIABLES = {
    "tmax_c": Variable("temperature_2m_max", {"°C": 1.0}),
    "tmin_c": Variable("temperature_2m_min", {"°C": 1.0}),
    "rain_mm": Variable("precipitation_sum", {"mm": 1.0}),
    "solar_mj": Variable("shortwave_radiation_sum", {"MJ/m²": 1.0}),
    "dewpoint_c": Variable("dew_point_2m_mean", {"°C": 1.0}),
    "wind_m_s": Variable(WIND, {"m/s": 1.0, "km/h": 1.0 / 3.6}),
}


@dataclass(frozen=True, slots=True, eq=False)
class Days:
    """What one place is told: shape (quantity, member, day), wind still at 10 m."""

    lat: float
    lon: float
    start: date
    values: NDArray[np.float64]


def read_places(reply: Reply, count: int, who: str) -> list[Json]:
    """Read an answer into one part a place; it is a list only where several were asked for.

    Parameters
    ----------
    reply
        What came.
    count
        How many places were asked for.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If it is a refusal, was cut, or is about another number of places.
    """
    if CUT in reply.content:
        raise Unavailable(who, "broke off in the middle of its answer", retry_later=True)
    document = read_json(reply, who)
    if reply.status != OK or _has_reason(document):
        refuse(document, reply.status, who)
    places = cast("list[object]", document if isinstance(document, list) else [document])
    if len(places) != count:
        odd(who, f"answered for {len(places)} places instead of {count}")
    if not all(isinstance(place, dict) for place in places):
        odd(who, "the answer is no JSON object")
    return cast("list[Json]", places)


def _has_reason(document: object) -> bool:
    """Whether it is a refusal, whatever its status."""
    return isinstance(document, dict) and "reason" in cast("Json", document)


def refuse(document: object, status: int, who: str) -> NoReturn:
    """Give the service's own reason.

    Parameters
    ----------
    document, status
        What came.
    who
        The service and the place.

    Raises
    ------
    Unavailable
        Always; whether asking again may help goes by the status.
    """
    said = cast("Json", document).get("reason") if isinstance(document, dict) else None
    reason = f": {said[:200]}" if isinstance(said, str) else ""
    later = status in {429, 500, 502, 503, 504}
    raise Unavailable(who, f"refused the request (HTTP {status}){reason}", retry_later=later)


def read_days(place: Json, who: str) -> Days:
    """Read the days of one place.

    Parameters
    ----------
    place
        Its part of the answer.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If it is not as documented.
    """
    daily, units = part(place, "daily", who), part(place, "daily_units", who)
    start, count = _dates(items(daily, "time", who), who)
    columns = {ours: _members(daily, one.name, who) for ours, one in VARIABLES.items()}
    most = max((member for found in columns.values() for member in found), default=0) + 1
    values = np.full((len(QUANTITY_NAMES), most, count), np.nan)
    for row, ours in enumerate(QUANTITY_NAMES):
        for member, name in columns[ours].items():
            series = _series(items(daily, name, who), count, name, who)
            if np.isfinite(series).any():
                series = series * _factor(units.get(name), VARIABLES[ours].factors, name, who)
            values[row, member] = series
    lat, lon = (_degrees(place.get(name), name, who) for name in ("latitude", "longitude"))
    return Days(lat, lon, start, values)


def _members(daily: Json, name: str, who: str) -> dict[int, str]:
    """Which columns hold a variable: the control's has its plain name, a member's a number."""
    pattern = re.compile(re.escape(name) + r"_member([0-9]{2,3})")
    found = {0: name} if name in daily else {}
    for column in daily:
        match = pattern.fullmatch(column)
        if match is None:
            continue
        member = int(match[1])
        if not 0 < member <= MOST_MEMBERS or member in found:
            odd(who, f"{column[:60]} is no member")
        found[member] = column
    return found


def _dates(times: list[object], who: str) -> tuple[date, int]:
    """Read consecutive days."""
    if not 0 < len(times) <= MOST_DAYS:
        odd(who, f"the answer has {len(times)} days")
    try:
        start = date.fromisoformat(str(times[0]))
        expected = [(start + timedelta(days=index)).isoformat() for index in range(len(times))]
    except (ValueError, OverflowError):
        odd(who, f"{str(times[0])[:40]!r} is no day")
    if times != expected:
        odd(who, "the days do not follow each other")
    return start, len(times)


def _series(column: list[object], count: int, name: str, who: str) -> NDArray[np.float64]:
    """Read one column; null is no value."""
    if len(column) != count:
        odd(who, f"{name} has {len(column)} values for {count} days")
    return np.array([_number(value, name, who) for value in column], dtype=np.float64)


def _number(value: object, name: str, who: str) -> float:
    """Read one value; null is none."""
    if value is None:
        return math.nan
    try:
        number = float(cast("float", value)) if is_number(value) else math.nan
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        odd(who, f"{name} holds {str(value)[:40]!r}, which is no number")
    return number


def _factor(unit: object, factors: Mapping[str, float], name: str, who: str) -> float:
    """What takes a column's unit to ours."""
    if not isinstance(unit, str) or unit not in factors:
        odd(who, f"{name} is in {str(unit)[:40]!r} instead of {' or '.join(factors)}")
    return factors[unit]


def _degrees(value: object, name: str, who: str) -> float:
    """Read where the answer is for."""
    number = _number(value, name, who)
    if math.isnan(number):
        odd(who, f"the answer does not say its {name}")
    return number
