"""Forecasts of the places: brought every night, kept, and asked for days without measured rain."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from rootbound_service.errors import ServiceError
from rootbound_service.public.http import Unavailable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rootbound_service.weather.forecast.day import ForecastSource
    from rootbound_service.weather.places import Place
    from rootbound_service.wiring import Parts

GIVE_UP_AFTER = 3
"""So many places in a row without a forecast, and the rest is left for the next night."""
LOOK_BACK = 14


def bring_forecasts(parts: Parts, places: Sequence[Place]) -> tuple[str, ...]:
    """Ask for the coming days of every place once.

    Parameters
    ----------
    parts
        The wired service.
    places
        Of the fields.

    Returns
    -------
    tuple of str
        A sentence if some did not come; the night goes on without them.
    """
    missed: list[str] = []
    asked = in_a_row = 0
    for place in places:
        source = source_for(parts, place)
        if source is None:
            continue
        asked += 1
        if in_a_row >= GIVE_UP_AFTER:
            missed.append(f"{source.title}: not asked after {in_a_row} failures in a row")
            continue
        try:
            forecast = source.fetch(*place.cell.centre, parts.clock.now())
            parts.forecasts.keep(place.key, forecast)
            in_a_row = 0
        except Unavailable as error:
            missed.append(str(error))
            in_a_row += error.retry_later
        except (ServiceError, OSError) as error:
            missed.append(f"{source.title}: {error}")
    if not missed:
        return ()
    return (f"No forecast for {len(missed)} of {asked} places ({missed[0].rstrip('.')})",)


def source_for(parts: Parts, place: Place) -> ForecastSource | None:
    """Choose who is asked for a place's coming days.

    Parameters
    ----------
    parts
        The wired service.
    place
        The place.

    Returns
    -------
    ForecastSource or None
        The first in the written order that knows the place.
    """
    names = parts.order.sources("forecast", *place.cell.centre)
    known = (parts.forecast_sources[name] for name in names if name in parts.forecast_sources)
    return next((one for one in known if one.covers(*place.cell.centre)), None)


def expected_rain(
    parts: Parts, places: Sequence[Place], night: date
) -> dict[str, dict[date, float]]:
    """Look up what was forecast for the last days, for those of which no rain is known.

    Parameters
    ----------
    parts
        The wired service.
    places
        Of the fields.
    night
        The night.

    Returns
    -------
    dict
        Place key -> day -> rain. [mm]
    """
    days = [night - timedelta(days=back) for back in range(1, LOOK_BACK + 1)]
    by_place = {place.key: parts.forecasts.rains_on(place.key, days) for place in places}
    return {key: rain for key, rain in by_place.items() if rain}
