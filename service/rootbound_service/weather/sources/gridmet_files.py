"""Where gridMET's yearly files are: a folder, or a server with a folder that keeps them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.sources.cf_open import is_netcdf
from rootbound_service.weather.sources.gridmet_names import HABITS

if TYPE_CHECKING:
    from rootbound_service.public.http import Caller

OK = 200


class Files(Protocol):
    """Finds a variable's file of a year."""

    def path(self, short: str, year: int, asked_on: date, who: str) -> Path:
        """Give the file; raises ``Unavailable`` if there is none."""
        ...

    def drop(self, path: Path) -> None:
        """Forget a file that cannot be read."""
        ...


class FolderFiles:
    """Files that somebody put into a folder, such as ``tmmx_2020.nc``.

    Parameters
    ----------
    folder
        The folder.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def path(self, short: str, year: int, asked_on: date, who: str) -> Path:  # noqa: ARG002 - protocol
        """Find a file.

        Parameters
        ----------
        short, year
            The variable as in names of files, and the year.
        asked_on
            Not looked at: a folder's files are as they are.
        who
            The service and the file, for the error's sentence.

        Raises
        ------
        Unavailable
            If it is not there.
        """
        found = self._folder / f"{short}_{year}.nc"
        if not found.is_file():
            raise Unavailable(who, "is not in the folder of yearly files", retry_later=False)
        return found

    def drop(self, path: Path) -> None:
        """Leave the file where it is: it is somebody's own.

        Parameters
        ----------
        path
            Not looked at.
        """


class ServerFiles:
    """Files that are downloaded once; those that may still change, once a day of asking.

    Parameters
    ----------
    caller
        Carries the requests.
    url
        Folder of the files on the server.
    folder
        Keeps them; made when first needed.
    """

    def __init__(self, caller: Caller, url: str, folder: Path) -> None:
        self._caller = caller
        self._url = url.rstrip("/")
        self._folder = folder

    def path(self, short: str, year: int, asked_on: date, who: str) -> Path:
        """Find a file in the folder, or download it.

        Parameters
        ----------
        short, year
            The variable as in names of files, and the year.
        asked_on
            The day of asking; a file of a year that was not settled is had anew on another.
        who
            The service and the file, for the error's sentence.

        Raises
        ------
        Unavailable
            If it did not come.
        """
        settled = asked_on > date(year, 12, 31) + timedelta(days=HABITS.settled)
        name = f"{short}_{year}.nc" if settled else f"{short}_{year}.as-of-{asked_on}.nc"
        kept = self._folder / name
        if kept.is_file():
            return kept
        self._folder.mkdir(parents=True, exist_ok=True)
        reply = self._caller.download(f"{self._url}/{short}_{year}.nc", kept, who)
        if reply.status != OK:
            raise Unavailable(who, f"refused the request (HTTP {reply.status})", retry_later=False)
        if not is_netcdf(kept):
            kept.unlink()
            raise Unavailable(who, "what came is no netCDF file", retry_later=True)
        for old in self._folder.glob(f"{short}_{year}.as-of-*.nc"):
            if old != kept:
                old.unlink()
        return kept

    def drop(self, path: Path) -> None:
        """Remove a file that cannot be read: the next asking has it anew.

        Parameters
        ----------
        path
            As it was given.
        """
        path.unlink(missing_ok=True)
