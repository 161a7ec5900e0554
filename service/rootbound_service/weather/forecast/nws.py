"""The US National Weather Service: about a week of hours on a grid of 2.5 km, public domain."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING

from rootbound_service.public.http import Busy, Reply, Unavailable
from rootbound_service.public.replies import odd, part, read_object
from rootbound_service.weather.forecast.nws_answer import Question, read_grid
from rootbound_service.weather.forecast.nws_kept import KeptAnswers
from rootbound_service.weather.forecast.nws_points import PointShelf, check_near, read_point
from rootbound_service.weather.forecast.nws_problem import DRIFTED, problem_of, refuse

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime
    from pathlib import Path

    from rootbound_service.public.http import Caller
    from rootbound_service.weather.forecast.day import Forecast
    from rootbound_service.weather.forecast.nws_points import GridPoint

ACCEPT = "application/geo+json"
COVERED = (
    (24.0, 49.6, -125.2, -66.5),
    (51.0, 72.0, -180.0, -129.5),
    (18.5, 22.5, -160.7, -154.5),
    (17.5, 18.7, -67.5, -64.4),
    (13.0, 15.5, 144.5, 146.0),
)
"""48 states, Alaska, Hawaii, Puerto Rico, Guam: south, north, west, east, with a margin. [deg]"""


class Nws:
    """Coming days from api.weather.gov.

    Parameters
    ----------
    caller
        Carries the requests; the service refuses one that names no contact.
    base_url
        Where the service is.
    folder
        Keeps where places are in the grid, and the last answers.
    """

    name = "nws"
    title = "US National Weather Service"

    def __init__(self, caller: Caller, base_url: str, folder: Path) -> None:
        self._caller = caller
        self._url = base_url.rstrip("/")
        self._points = PointShelf(folder / "points")
        self._answers = KeptAnswers(folder / "grids")

    def covers(self, lat: float, lon: float) -> bool:
        """Tell whether the service may know the place; of those near a border it says itself.

        Parameters
        ----------
        lat, lon
            The place. [deg]
        """
        return any(
            south <= lat <= north and west <= lon <= east for south, north, west, east in COVERED
        )

    def fetch(self, lat: float, lon: float, now: datetime) -> Forecast:
        """Ask for the coming days of a place.

        Parameters
        ----------
        lat, lon
            The place. [deg]
        now
            The moment of asking.

        Returns
        -------
        Forecast
            Local days from that of the issue on. Radiation is estimated from cloud cover.

        Raises
        ------
        Unavailable
            If nothing usable came.
        """
        who = f"{self.title}, place {lat:.2f} {lon:.2f}"
        place = f"{_short(lat)},{_short(lon)}"
        point = self._points.find(place, now)
        reply = None if point is None else self._grid(point, who)
        if point is None or reply is None or _has_drifted(reply):
            point = self._resolve(place, now, who)
            reply = self._grid(point, who)
        if reply.status not in {HTTPStatus.OK, HTTPStatus.NOT_MODIFIED}:
            refuse(reply, who)
        forecast = read_grid(reply, Question(lat, lon, point, now, who))
        if reply.status == HTTPStatus.OK:
            self._keep(point, reply)
        return forecast

    def _resolve(self, place: str, now: datetime, who: str) -> GridPoint:
        """Ask where a place is; if the service is not well, the old answer will do."""
        try:
            reply = self._ask(f"/points/{place}", {}, who)
        except Unavailable as error:
            old = self._points.find(place, now, however_old=True)
            if old is None or not error.retry_later:
                raise
            return old
        if reply.status != HTTPStatus.OK:
            refuse(reply, who)
        answer = read_object(reply, who)
        check_near(answer, place, who)
        point = read_point(part(answer, "properties", who), who)
        try:
            self._points.keep(place, point, now)
        except OSError as error:
            what = f"its grid point could not be kept ({error.strerror})"
            raise Unavailable(who, what, retry_later=True) from error
        return point

    def _grid(self, point: GridPoint, who: str) -> Reply:
        """Ask for a grid point's hours; the last answer again if they have not changed."""
        kept = self._answers.find(point)
        condition = {} if kept is None else {"If-Modified-Since": kept[0]}
        reply = self._ask(f"/gridpoints/{point.name}", condition, who)
        if reply.status == HTTPStatus.NOT_MODIFIED and kept is not None:
            return Reply(reply.status, kept[1], ACCEPT)
        if reply.status == HTTPStatus.NOT_MODIFIED:
            odd(who, "says that nothing has changed, but we had not asked that")
        return reply

    def _ask(self, path: str, headers: Mapping[str, str], who: str) -> Reply:
        """Make one request; a service that says why it is not well is heard."""
        try:
            return self._caller.get(self._url + path, None, who, accept=ACCEPT, headers=headers)
        except Busy as error:
            refuse(error.reply, who)

    def _keep(self, point: GridPoint, reply: Reply) -> None:
        """Keep an answer that could be read; a full disk costs only the next condition."""
        try:
            self._answers.keep(point, reply.headers.get("Last-Modified"), reply.content)
        except OSError:
            self._answers.forget(point)


def _has_drifted(reply: Reply) -> bool:
    """Whether the grid point that we had looked up is none any more."""
    return reply.status == HTTPStatus.NOT_FOUND and problem_of(reply) in DRIFTED


def _short(degrees: float) -> str:
    """Write at most four decimals and no zeros after them: the service sends others away."""
    text = f"{degrees:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
