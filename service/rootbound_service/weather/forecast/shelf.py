"""Every issue of every forecast of a place, so that what was expected can be looked up later."""

from __future__ import annotations

import re
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.weather.answers import write_whole
from rootbound_service.weather.forecast.day import PARTIAL
from rootbound_service.weather.forecast.make import mark_of
from rootbound_service.weather.forecast.shelf_file import pack, unpack

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date
    from pathlib import Path

    from rootbound_service.weather.forecast.day import Forecast

STAMP = "%Y%m%dT%H%M%SZ"
FILE = re.compile(r"([0-9]{8}T[0-9]{6}Z)-([a-z0-9_]+)-([0-9a-f]{12})\.json\.gz")
LONGEST = timedelta(days=40)
"""No forecast reaches further ahead."""
ISSUES = "issues"


class ForecastShelf:
    """A folder of forecasts, one sub-folder a place.

    Parameters
    ----------
    root
        Made when first needed.
    """

    def __init__(self, root: Path) -> None:
        self._root = root / ISSUES
        self._read = lru_cache(maxsize=64)(unpack)  # a file never changes once it has its name

    def keep(self, key: str, forecast: Forecast) -> Path | None:
        """Keep a forecast, unless the same issue is there already.

        Parameters
        ----------
        key
            Of the place, such as a cell's.
        forecast
            What came.

        Returns
        -------
        Path or None
            The new file, or None if there was nothing new.
        """
        mark = mark_of(forecast.start, forecast.values, forecast.made)[:12]
        stamp = _stamp(forecast.issued)
        path = self._folder(key) / f"{stamp}-{forecast.source}-{mark}.json.gz"
        if path.exists():
            return None
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, pack(forecast))
        return path

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
        for path in reversed(self._files(key)):
            if source is not None and _parts(path)[1] != source:
                continue
            if not_after is not None and _parts(path)[0] > _stamp(not_after):
                continue
            forecast = self._read(path)
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
        paths = [one for one in self._files(key) if first <= _parts(one)[0] <= last]
        read = [self._read(path) for path in reversed(paths)]
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
            for path in files:
                if not first <= _parts(path)[0] < last:
                    continue
                forecast = self._read(path)
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
        for folder in sorted(self._root.iterdir()) if self._root.is_dir() else ():
            for path in _ours(folder):
                if _parts(path)[0] < limit:
                    path.unlink(missing_ok=True)
                    gone += 1
        return gone

    def _files(self, key: str) -> list[Path]:
        """Files of a place, oldest issue first."""
        return _ours(self._folder(key))

    def _folder(self, key: str) -> Path:
        """Folder of a place; whatever its key holds, it is one folder below ours."""
        return self._root / re.sub(r"[^A-Za-z0-9_-]", "-", key)


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


def _ours(folder: Path) -> list[Path]:
    """Our files in a folder, oldest issue first."""
    if not folder.is_dir():
        return []
    return sorted(path for path in folder.iterdir() if FILE.fullmatch(path.name))


def _parts(path: Path) -> tuple[str, str, str]:
    """Time of issue, source and mark, from a file's name."""
    match = FILE.fullmatch(path.name)
    return (match[1], match[2], match[3]) if match else ("", "", "")


def _stamp(instant: datetime) -> str:
    """An instant as in the names of files; such names sort by time."""
    return f"{instant.astimezone(UTC):{STAMP}}"


def _stamp_of(day: date) -> str:
    """The first moment of a day of UTC."""
    return _stamp(datetime.combine(day, time(), UTC))
