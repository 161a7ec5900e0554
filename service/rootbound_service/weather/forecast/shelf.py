"""Every issue of every forecast of a place, so that what was expected can be looked up later."""

from __future__ import annotations

import re
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.drawer import FolderDrawer
from rootbound_service.weather.forecast.day import PARTIAL
from rootbound_service.weather.forecast.make import mark_of
from rootbound_service.weather.forecast.shelf_file import pack, unpack

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from rootbound_service.weather.drawer import Drawer
    from rootbound_service.weather.forecast.day import Forecast

STAMP = "%Y%m%dT%H%M%SZ"
FILE = re.compile(r"([0-9]{8}T[0-9]{6}Z)-([a-z0-9_]+)-([0-9a-f]{12})\.json\.gz")
LONGEST = timedelta(days=40)
"""No forecast reaches further ahead."""
ISSUES = "issues"


class ForecastShelf:
    """Forecasts in files, one folder a place.

    Parameters
    ----------
    place
        The folder ``forecasts``, made when first needed, or the drawer.
    """

    def __init__(self, place: Path | Drawer) -> None:
        self._drawer = FolderDrawer(place / ISSUES) if isinstance(place, Path) else place
        self._read = lru_cache(maxsize=64)(self._read_file)  # a file never changes once named

    def keep(self, key: str, forecast: Forecast) -> str | None:
        """Keep a forecast, unless the same issue is there already.

        Parameters
        ----------
        key
            Of the place, such as a cell's.
        forecast
            What came.

        Returns
        -------
        str or None
            Name of the new file, with its folder's, or None if there was nothing new.
        """
        mark = mark_of(forecast.start, forecast.values, forecast.made)[:12]
        stamp = _stamp(forecast.issued)
        name = f"{_folder(key)}/{stamp}-{forecast.source}-{mark}.json.gz"
        if self._drawer.has(name):
            return None
        self._drawer.put(name, pack(forecast))
        return name

    def latest(
        self, key: str, not_after: datetime | None = None, source: str | None = None
    ) -> Forecast | None:
        """Give the newest issue for a place.

        Parameters
        ----------
        key
            Of the place.
        not_after
            Only what had been made and was known to us then.
        source
            Only this service's.
        """
        for name in reversed(self._files(key)):
            if source is not None and _parts(name)[1] != source:
                continue
            if not_after is not None and _parts(name)[0] > _stamp(not_after):
                continue
            forecast = self._read(name)
            if forecast is not None and (not_after is None or forecast.fetched <= not_after):
                return forecast
        return None

    def issues(self, key: str, not_before: date, not_after: datetime) -> list[Forecast]:
        """Give what was issued of a place in a span of time, the newest first.

        Parameters
        ----------
        key
            Of the place.
        not_before
            First day of issue, in UTC.
        not_after
            Only what had been made and was known to us then.
        """
        first, last = _stamp_of(not_before), _stamp(not_after)
        names = [one for one in self._files(key) if first <= _parts(one)[0] <= last]
        read = [self._read(name) for name in reversed(names)]
        return [one for one in read if one is not None and one.fetched <= not_after]

    def rain_on(self, key: str, day: date) -> float | None:
        """Give the rain that was last forecast for a day before it began. [mm]

        Parameters
        ----------
        key
            Of the place.
        day
            Its local day.

        Returns
        -------
        float or None
            Mean of the members; None where no issue before the day covers the whole of it.
        """
        return self.rains_on(key, (day,)).get(day)

    def rains_on(self, key: str, days: Iterable[date]) -> dict[date, float]:
        """Give the same for several days, those alone that have one. [mm]

        Parameters
        ----------
        key
            Of the place.
        days
            Its local days.
        """
        files = self._files(key)[::-1]
        found: dict[date, float] = {}
        for day in days:
            # The local day may begin half a day before or after that of UTC.
            first, last = _stamp_of(day - LONGEST), _stamp_of(day + timedelta(days=1))
            for name in files:
                if not first <= _parts(name)[0] < last:
                    continue
                forecast = self._read(name)
                amount = None if forecast is None else _rain(forecast, day)
                if amount is not None:
                    found[day] = amount
                    break
        return found

    def prune(self, before: date) -> int:
        """Delete what was issued before a day.

        Parameters
        ----------
        before
            The first day whose issues stay, in UTC.

        Returns
        -------
        int
            How many files went.
        """
        limit = _stamp_of(before)
        gone = 0
        for folder in self._drawer.folders():
            for name in self._ours(folder):
                if _parts(name)[0] < limit:
                    self._drawer.remove(name)
                    gone += 1
        return gone

    def _files(self, key: str) -> list[str]:
        """Names of a place's files, oldest issue first."""
        return self._ours(_folder(key))

    def _ours(self, folder: str) -> list[str]:
        """Names of our files in a folder, oldest issue first."""
        return [f"{folder}/{name}" for name in self._drawer.names(folder) if FILE.fullmatch(name)]

    def _read_file(self, name: str) -> Forecast | None:
        """Read a file, None where it is gone or spoilt."""
        content = self._drawer.read(name)
        return None if content is None else unpack(content)


def _folder(key: str) -> str:
    """Folder of a place; whatever its key holds, it is one folder below ours."""
    return re.sub(r"[^A-Za-z0-9_-]", "-", key)


def _rain(forecast: Forecast, day: date) -> float | None:
    """Rain that was expected of a later day, where the whole of it is covered. [mm]"""
    if not forecast.start < day <= forecast.end or "rain_mm" not in forecast.quantities:
        return None
    row, column = forecast.quantities.index("rain_mm"), (day - forecast.start).days
    if forecast.made[row, column] & PARTIAL:
        return None
    members = forecast.values[row, :, column]
    known = members[np.isfinite(members)]
    return float(known.mean()) if known.size else None


def _parts(name: str) -> tuple[str, str, str]:
    """Time of issue, source and mark, from a file's name."""
    match = FILE.fullmatch(name.rpartition("/")[2])
    return (match[1], match[2], match[3]) if match else ("", "", "")


def _stamp(instant: datetime) -> str:
    """An instant as in the names of files; such names sort by time."""
    return f"{instant.astimezone(UTC):{STAMP}}"


def _stamp_of(day: date) -> str:
    """The first moment of a day of UTC."""
    return _stamp(datetime.combine(day, time(), UTC))
