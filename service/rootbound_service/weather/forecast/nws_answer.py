"""From the National Weather Service's grid of hours to local days of our quantities."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import odd, part, read_object
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast import to_days
from rootbound_service.weather.forecast.day import ESTIMATED, RAIN_CHANCE, Forecast
from rootbound_service.weather.forecast.intervals import read_instant
from rootbound_service.weather.forecast.make import days_known, mark_of
from rootbound_service.weather.forecast.nws_layers import (
    RAIN,
    SHARE,
    TEMPERATURE,
    WIND,
    read_layer,
)

if TYPE_CHECKING:
    from rootbound_service.public.http import Reply
    from rootbound_service.public.replies import Json
    from rootbound_service.weather.forecast.nws_points import GridPoint
    from rootbound_service.weather.forecast.to_days import LocalDays, OfDays

NAMES = (*QUANTITY_NAMES, RAIN_CHANCE)
MOST_DAYS = 12
OLDEST = timedelta(hours=24)
ALOFT_M = 10.0
"""Height of the wind that the service gives. [m]"""


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked for, and when."""

    lat: float
    lon: float
    point: GridPoint
    now: datetime
    who: str


def read_grid(reply: Reply, asked: Question) -> Forecast:
    """Read the hours of a grid point into local days.

    Parameters
    ----------
    reply
        An answer of status 200, or one kept from before.
    asked
        The question.

    Raises
    ------
    Unavailable
        If it is not as documented, of another place, or older than a day.
    """
    who = asked.who
    properties = part(read_object(reply, who), "properties", who)
    _check_place(properties, asked)
    issued = _issued(properties, asked)
    start = issued.astimezone(asked.point.zone).date()
    days = to_days.LocalDays.of(start, MOST_DAYS, asked.point.zone)
    found = _quantities(properties, days, asked)
    values = np.stack([found[name].values for name in NAMES])[:, None, :]
    made = np.stack([found[name].made for name in NAMES])
    known = days_known(values, who)
    values, made = values[:, :, :known].round(4), made[:, :known]
    return Forecast(
        source="nws",
        lat=asked.lat,
        lon=asked.lon,
        issued=issued,
        fetched=asked.now,
        start=start,
        quantities=NAMES,
        values=values,
        made=made,
        where=asked.point.name,
        raw=reply.content,
        fingerprint=mark_of(start, values, made),
    )


def _quantities(properties: Json, days: LocalDays, asked: Question) -> dict[str, OfDays]:
    """Reduce every layer that we need to days."""
    from rootbound_rules.water.air import wind_at_2m

    who, opens, closes = asked.who, days.edges[:-1], days.edges[1:]
    rain = read_layer(properties, "quantitativePrecipitation", RAIN, who)
    dewpoint = read_layer(properties, "dewpoint", TEMPERATURE, who)
    aloft = read_layer(properties, "windSpeed", WIND, who)
    wind = to_days.mean(aloft, opens, closes)
    return {
        "tmax_c": to_days.highest(read_layer(properties, "maxTemperature", TEMPERATURE, who), days),
        "tmin_c": to_days.lowest(read_layer(properties, "minTemperature", TEMPERATURE, who), days),
        "rain_mm": to_days.total(rain, opens, closes),
        "dewpoint_c": to_days.mean(dewpoint, opens, closes),
        "wind_m_s": to_days.OfDays(wind.values * wind_at_2m(1.0, ALOFT_M), wind.made),
        RAIN_CHANCE: to_days.highest(
            read_layer(properties, "probabilityOfPrecipitation", SHARE, who), days
        ),
        "solar_mj": _solar(properties, days, asked),
    }


def _solar(properties: Json, days: LocalDays, asked: Question) -> OfDays:
    """Estimate radiation from the cloud cover between sunrise and sunset (FAO-56 Eq. 35)."""
    from rootbound_rules.water.radiation import daylight_hours, extraterrestrial, from_sunshine

    cover = read_layer(properties, "skyCover", SHARE, asked.who)
    dates = [days.start + timedelta(days=index) for index in range(days.count)]
    numbers = [day.timetuple().tm_yday for day in dates]
    noon = np.array(
        [datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp() for day in dates]
    )
    noon -= asked.lon / 15.0 * 3600.0  # the sun is over the place, not over its time zone
    # Where the sun does not rise, clouds make no difference: any hour will do.
    half = np.array([max(daylight_hours(asked.lat, n), 1.0) for n in numbers]) * 1800.0
    cloud = to_days.mean(cover, noon - half, noon + half)
    above = np.array([max(extraterrestrial(asked.lat, n), 0.0) for n in numbers])
    clear = 1.0 - np.clip(cloud.values, 0.0, 1.0)
    sun = [from_sunshine(ra, share, 1.0) for ra, share in zip(above, clear, strict=True)]
    made = np.where(np.isfinite(cloud.values), cloud.made | ESTIMATED, 0).astype(np.uint8)
    return to_days.OfDays(np.array(sun), made)


def _check_place(properties: Json, asked: Question) -> None:
    """Refuse an answer about another grid point; its numbers may come as texts."""
    point = asked.point
    said = tuple(str(properties.get(name)) for name in ("gridId", "gridX", "gridY"))
    if said != (point.office, str(point.x), str(point.y)):
        odd(asked.who, f"answered about another place ({' '.join(said)[:40]})")


def _issued(properties: Json, asked: Question) -> datetime:
    """When the office made it; too old is as good as none."""
    said = properties.get("updateTime")
    if not isinstance(said, str):
        odd(asked.who, "the answer does not say when it was made")
    try:
        issued = read_instant(said)
    except ValueError as error:
        odd(asked.who, f"updateTime: {error}")
    if abs(asked.now - issued) > OLDEST:
        what = f"the forecast was made at {issued:%Y-%m-%d %H:%M} UTC, more than a day from now"
        raise Unavailable(asked.who, what, retry_later=True)
    return min(issued, asked.now)  # one clock is ahead of the other: nothing is made tomorrow
