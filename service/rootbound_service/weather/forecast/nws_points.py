"""Which grid point of which office a place is at; asked once a month and kept."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, cast
from zoneinfo import ZoneInfo

from rootbound_service.public.http import Unavailable
from rootbound_service.public.replies import is_number, odd
from rootbound_service.weather.answers import write_whole

if TYPE_CHECKING:
    from pathlib import Path

    from rootbound_service.public.replies import Json

OFFICE = re.compile(r"[A-Z0-9]{3,4}")
NUMBER = re.compile(r"[0-9]{1,4}")
NEAR_DEG = 0.01
GOOD_FOR = timedelta(days=28)
"""Grids drift: within a month a place is asked for anew."""


@dataclass(frozen=True, slots=True)
class GridPoint:
    """A cell of an office's grid, and the zone whose days count there."""

    office: str
    x: int
    y: int
    zone: ZoneInfo

    @property
    def name(self) -> str:
        """As in the service's addresses."""
        return f"{self.office}/{self.x},{self.y}"


def read_point(properties: Json, who: str) -> GridPoint:
    """Read where a place is in the grid.

    Parameters
    ----------
    properties
        Of the answer, or as kept by us.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If an office, a number or a time zone is no such thing.
    """
    office, zone = properties.get("gridId"), properties.get("timeZone")
    x, y = (str(properties.get(name)) for name in ("gridX", "gridY"))
    if not (isinstance(office, str) and OFFICE.fullmatch(office)):
        odd(who, "gridId is no office")
    if not (NUMBER.fullmatch(x) and NUMBER.fullmatch(y)):
        odd(who, "gridX or gridY is no number of a grid")
    if not isinstance(zone, str):
        odd(who, "timeZone is missing from the answer")
    try:
        return GridPoint(office, int(x), int(y), ZoneInfo(zone))
    except (KeyError, ValueError, OSError):
        odd(who, f"timeZone {str(zone)[:40]!r} is not known")


def check_near(answer: Json, place: str, who: str) -> None:
    """Refuse what was answered about another place; one that names none is believed.

    Parameters
    ----------
    answer
        The whole of it.
    place
        As in the service's address.
    who
        The service and the place, for the error's sentence.

    Raises
    ------
    Unavailable
        If the answer's own place is not near.
    """
    geometry = answer.get("geometry")
    said = cast("Json", geometry).get("coordinates") if isinstance(geometry, dict) else None
    if said is None:
        return
    lon_lat = cast("list[object]", said if isinstance(said, list) else [])
    lat, lon = (float(text) for text in place.split(","))
    near = len(lon_lat) == 2 and all(  # noqa: PLR2004 - longitude and latitude
        is_number(found) and abs(cast("float", found) - asked) <= NEAR_DEG
        for found, asked in zip(lon_lat, (lon, lat), strict=True)
    )
    if not near:
        odd(who, "answered about another place")


class PointShelf:
    """Keeps grid points of places.

    Parameters
    ----------
    folder
        Made when first needed.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def find(self, place: str, now: datetime, *, however_old: bool = False) -> GridPoint | None:
        """Look up a place.

        Parameters
        ----------
        place
            As in the service's address, such as ``42.03,-93.62``.
        now
            When.
        however_old
            Whether one that should be asked for anew will do.

        Returns
        -------
        GridPoint or None
            None where it is not kept, too old, or spoilt.
        """
        try:
            kept: object = json.loads(self._path(place).read_text(encoding="utf-8"))
            known = cast("Json", kept if isinstance(kept, dict) else {})
            asked = datetime.fromisoformat(str(known.get("asked")))
            fresh = asked.tzinfo is not None and abs(now - asked) < GOOD_FOR
            return read_point(known, place) if fresh or however_old else None
        except (OSError, ValueError, Unavailable):
            return None

    def keep(self, place: str, point: GridPoint, now: datetime) -> None:
        """Note where a place is.

        Parameters
        ----------
        place, point, now
            The place, what was answered, and when.
        """
        self._folder.mkdir(parents=True, exist_ok=True)
        known = {
            "gridId": point.office,
            "gridX": point.x,
            "gridY": point.y,
            "timeZone": point.zone.key,
            "asked": now.astimezone(UTC).isoformat(),
        }
        write_whole(self._path(place), json.dumps(known).encode())

    def _path(self, place: str) -> Path:
        """Where a place is kept."""
        return self._folder / f"{place.replace(',', '_')}.json"
