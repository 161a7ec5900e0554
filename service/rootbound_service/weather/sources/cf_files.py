"""Which files hold which days: patterns of names, and the files that a folder has."""

from __future__ import annotations

import glob
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from rootbound_service.weather.sources.cf_open import is_zarr

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rootbound_service.weather.sources.cf_preset import Files

NETCDF_ENDINGS = ("*.nc", "*.nc4", "*.cdf", "*.zarr")


@dataclass(frozen=True, slots=True)
class Found:
    """A file that can be opened."""

    path: Path
    issued: datetime | None = None
    """When the service last changed it, as the service says."""
    label: str = ""
    """Its name at the service, where that differs."""

    @property
    def name(self) -> str:
        """For people."""
        return self.label or self.path.name


@dataclass(frozen=True, slots=True)
class Need:
    """What a file is looked up for."""

    where: str
    """Address or path, filled in."""
    start: date
    """First day that is needed of it."""
    asked_on: date
    settled: bool
    """Whether it is so old, and of such a kind, that it does not change any more."""
    who: str


class Shelf(Protocol):
    """Gives the files of an address or a path."""

    def find(self, need: Need) -> list[Found]:
        """Give the files there are, none where there is none yet."""
        ...

    def forget(self, where: str) -> None:
        """Drop what is kept of a file that a better one replaces."""
        ...


class Folder:
    """Files on our own disk.

    Parameters
    ----------
    base
        From which relative paths count.
    """

    def __init__(self, base: Path) -> None:
        self._base = base

    def find(self, need: Need) -> list[Found]:
        """Give the file, those of a folder, or those that a pattern with ``*`` matches.

        Parameters
        ----------
        need
            Its ``where`` is a path.
        """
        path = self._base / Path(need.where).expanduser()
        if glob.has_magic(need.where):
            # a Path takes no pattern that begins at the root
            return [Found(Path(name)) for name in sorted(glob.glob(str(path)))]  # noqa: PTH207
        if path.is_dir() and not is_zarr(path):
            inside = {file for ending in NETCDF_ENDINGS for file in path.glob(ending)}
            return [Found(file) for file in sorted(inside)]
        return [Found(path)] if path.exists() else []

    def forget(self, where: str) -> None:
        """Leave the operator's files alone."""


def filled(entry: Files, start: date, file: str | None) -> str:
    """Fill a pattern's braces.

    Parameters
    ----------
    entry
        The pattern.
    start
        A day of the period.
    file
        What the variable puts for ``{file}``.
    """
    return entry.where.format(
        year=f"{start:%Y}", month=f"{start:%m}", day=f"{start:%d}", file=file or ""
    )


def periods(parts: set[str], start: date, end: date) -> Iterator[tuple[date, date]]:
    """Cut days into the spans that one file holds.

    Parameters
    ----------
    parts
        The names in a pattern's braces.
    start, end
        First and last day.

    Yields
    ------
    tuple of date
        First and last day of each span, each day once.
    """
    day = start
    while day <= end:
        last = min(end, _last(parts, day))
        yield day, last
        day = last + timedelta(days=1)


def _last(parts: set[str], day: date) -> date:
    """Last day of the file that holds a day."""
    if "day" in parts:
        return day
    if "month" in parts:
        following = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        return following - timedelta(days=1)
    return date(day.year, 12, 31)  # a pattern without a time is asked a year at a time
