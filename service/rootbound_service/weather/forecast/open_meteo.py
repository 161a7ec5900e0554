"""Open-Meteo: coming days of the whole world, and an ensemble; free for non-commercial use only."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING
from urllib.parse import urlsplit, urlunsplit

import numpy as np

from rootbound_service.public.http import Busy, Unavailable
from rootbound_service.public.replies import odd, read_json
from rootbound_service.weather.cells import MOST_LAT, MOST_LON
from rootbound_service.weather.day import QUANTITY_NAMES
from rootbound_service.weather.forecast.day import Forecast
from rootbound_service.weather.forecast.make import days_known, mark_of
from rootbound_service.weather.forecast.open_meteo_answer import (
    VARIABLES,
    read_days,
    read_places,
    refuse,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from rootbound_service.public.http import Caller
    from rootbound_service.weather.forecast.open_meteo_answer import Days

FREE_DOMAIN = "open-meteo.com"
PAID = "customer-"
ENSEMBLE_MODEL = "ncep_gefs025"
"""31 members, 10 days, a quarter of a degree."""
DAYS = 16
ENSEMBLE_DAYS = 10
NEAR_DEG = 0.75
"""How far the centre of a model's cell may be from the place; cells of ensembles are coarse."""
ALOFT_M = 10.0


class OpenMeteo:
    """Coming days from Open-Meteo, or its ensemble.

    The free addresses are for non-commercial use; who is paid needs a key. That is why it is
    not asked unless the settings say so.

    Parameters
    ----------
    caller
        Carries the requests.
    base_url
        Where the service is.
    ensemble
        Whether many members are wanted, or the one best guess.
    key
        Of a paying customer; its own address is then used.
    zone
        Whose days, by IANA name; ``auto`` lets the service find it by the place.
    """

    def __init__(
        self,
        caller: Caller,
        base_url: str,
        *,
        ensemble: bool = False,
        key: str | None = None,
        zone: str = "auto",
    ) -> None:
        self._caller = caller
        self._ensemble = ensemble
        self._key = key
        self._zone = zone
        path = "/v1/ensemble" if ensemble else "/v1/forecast"
        self._url = (customer_address(base_url) if key else base_url).rstrip("/") + path

    @property
    def name(self) -> str:
        """Short name, as in settings."""
        return "open_meteo_ensemble" if self._ensemble else "open_meteo"

    @property
    def title(self) -> str:
        """Name for people."""
        return "Open-Meteo ensemble" if self._ensemble else "Open-Meteo"

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the service knows the place: it knows all on the globe. [deg]"""
        return abs(lat) <= MOST_LAT and abs(lon) <= MOST_LON

    def fetch(self, lat: float, lon: float, now: datetime) -> Forecast:
        """Ask for the coming days of a place.

        Parameters
        ----------
        lat, lon
            The place. [deg]
        now
            The moment of asking.

        Raises
        ------
        Unavailable
            If nothing usable came.
        """
        return self.fetch_many([(lat, lon)], now)[0]

    def fetch_many(self, places: Sequence[tuple[float, float]], now: datetime) -> list[Forecast]:
        """Ask for the coming days of several places at once.

        Parameters
        ----------
        places
            Latitude and longitude of each. [deg]
        now
            The moment of asking; the service does not say when its models ran.

        Returns
        -------
        list of Forecast
            In the order of the places.

        Raises
        ------
        Unavailable
            If nothing usable came for one of them.
        """
        lat, lon = places[0]
        who = f"{self.title}, place {lat:.2f} {lon:.2f}"
        who += f" and {len(places) - 1} more" if len(places) > 1 else ""
        try:
            reply = self._caller.get(self._url, self._query(places), who, accept="application/json")
        except Busy as error:
            refuse(_said(error, who), error.reply.status, who)
        parts = read_places(reply, len(places), who)
        raw = reply.content if len(places) == 1 else b""
        return [
            self._forecast(place, read_days(one, who), now, (who, raw))
            for place, one in zip(places, parts, strict=True)
        ]

    def _query(self, places: Sequence[tuple[float, float]]) -> dict[str, str]:
        """What is asked for."""
        query = {
            "latitude": ",".join(f"{lat:.4f}" for lat, _ in places),
            "longitude": ",".join(f"{lon:.4f}" for _, lon in places),
            "daily": ",".join(one.name for one in VARIABLES.values()),
            "timezone": self._zone,
            "wind_speed_unit": "ms",
            "forecast_days": str(ENSEMBLE_DAYS if self._ensemble else DAYS),
        }
        if self._ensemble:
            query["models"] = ENSEMBLE_MODEL
        if self._key:
            query["apikey"] = self._key
        return query

    def _forecast(
        self, place: tuple[float, float], days: Days, now: datetime, origin: tuple[str, bytes]
    ) -> Forecast:
        """Check what one place was told, and put it into our form."""
        from rootbound_rules.water.air import wind_at_2m

        who, raw = origin
        _check(place, days, now, who)
        values = days.values.copy()
        values[QUANTITY_NAMES.index("wind_m_s")] *= wind_at_2m(1.0, ALOFT_M)
        values = values[:, :, : days_known(values, who)].round(4)
        made = np.zeros((values.shape[0], values.shape[2]), np.uint8)
        return Forecast(
            source=self.name,
            lat=place[0],
            lon=place[1],
            issued=now,
            fetched=now,
            start=days.start,
            quantities=QUANTITY_NAMES,
            values=values,
            made=made,
            where=f"{days.lat:g},{days.lon:g}",
            raw=raw,
            fingerprint=mark_of(days.start, values, made),
        )


def customer_address(base_url: str) -> str:
    """Give the address for paying customers; an address of somebody else's stays.

    Parameters
    ----------
    base_url
        Such as ``https://api.open-meteo.com``.
    """
    parts = urlsplit(base_url)
    if not parts.netloc.endswith("." + FREE_DOMAIN) or parts.netloc.startswith(PAID):
        return base_url
    return urlunsplit(parts._replace(netloc=PAID + parts.netloc))


def _check(place: tuple[float, float], days: Days, now: datetime, who: str) -> None:
    """Refuse days of another place or another time."""
    east = abs(days.lon - place[1]) % 360.0
    if abs(days.lat - place[0]) > NEAR_DEG or min(east, 360.0 - east) > NEAR_DEG:
        odd(who, f"answered for {days.lat:g} {days.lon:g} instead")
    if abs(days.start - now.date()) > timedelta(days=1):
        odd(who, f"answered for days from {days.start} on")


def _said(error: Busy, who: str) -> object:
    """What a service that is busy says of it; nothing where it is no JSON."""
    try:
        return read_json(error.reply, who)
    except Unavailable:
        return None
