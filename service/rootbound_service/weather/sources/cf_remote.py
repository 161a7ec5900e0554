"""Files fetched once from a service and kept; asked for again only if they changed."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, date, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Protocol, cast
from urllib.parse import urlsplit

from rootbound_service.public.http import Unavailable
from rootbound_service.weather.sources.cf_files import Found
from rootbound_service.weather.sources.cf_open import is_netcdf

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.weather.sources.cf_files import Need

OK, NOT_MODIFIED = 200, 304
NOT_THERE = (404, 410)
KEPT_HEADERS = {"etag": "ETag", "last_modified": "Last-Modified"}


class Answered(Protocol):
    """What is looked at of a reply."""

    @property
    def status(self) -> int: ...  # noqa: D102 - as in Reply

    @property
    def headers(self) -> Mapping[str, str]: ...  # noqa: D102 - the same


class Downloads(Protocol):
    """Whoever can fetch a large file: :class:`rootbound_service.public.http.Caller`."""

    def download(
        self, url: str, path: Path, who: str, *, headers: Mapping[str, str] | None = None
    ) -> Answered:
        """Write a body to a file, whole or not at all."""
        ...


class Fetched:
    """Files of one service, in a folder of ours.

    Parameters
    ----------
    caller
        Carries the requests.
    folder
        Where the files are kept, beside what the service said of each.
    """

    def __init__(self, caller: Downloads, folder: Path) -> None:
        self._caller = caller
        self._folder = folder
        self._known: dict[str, tuple[date, list[Found]]] = {}

    def find(self, need: Need) -> list[Found]:
        """Give a file, fetched if it is new or has changed since it was last fetched.

        A file is asked for once a day, however many cells and requests share it; one that is
        settled is not asked for again at all.

        Parameters
        ----------
        need
            Its ``where`` is an address.

        Raises
        ------
        Unavailable
            If the service has trouble, or what came is no netCDF.
        """
        known = self._known.get(need.where)
        if known is not None and known[0] == need.asked_on:
            return known[1]
        path = self._path(need.where)
        if not (need.settled and path.exists()):
            reply = self._caller.download(need.where, path, need.who, headers=_conditions(path))
            if not self._arrived(reply, path, need.who):
                self._known[need.where] = need.asked_on, []
                return []
        found = [Found(path, _issued(path), _name(need.where))]
        self._known[need.where] = need.asked_on, found
        return found

    def forget(self, where: str) -> None:
        """Delete a file that a better one replaces.

        Parameters
        ----------
        where
            Its address.
        """
        path = self._path(where)
        path.unlink(missing_ok=True)
        _beside(path).unlink(missing_ok=True)
        self._known.pop(where, None)

    def _arrived(self, reply: Answered, path: Path, who: str) -> bool:
        """Keep what the service said of the file; False where there is none yet."""
        if reply.status in NOT_THERE:
            return False
        if reply.status == NOT_MODIFIED and path.exists():
            return True
        if reply.status != OK:
            what = f"refused the file (HTTP {reply.status})"
            raise Unavailable(who, what, retry_later=False)
        _beside(path).unlink(missing_ok=True)
        if not is_netcdf(path):
            path.unlink()
            what = "answered with something else than netCDF"
            raise Unavailable(who, what, retry_later=True)
        said = {ours: reply.headers.get(theirs) for ours, theirs in KEPT_HEADERS.items()}
        unfinished = _beside(path).with_suffix(".part")
        unfinished.write_text(json.dumps(said), encoding="utf-8")
        unfinished.replace(_beside(path))
        return True

    def _path(self, where: str) -> Path:
        """Where a file is kept: its own name, after a mark of its whole address."""
        mark = hashlib.sha256(where.encode()).hexdigest()[:12]
        self._folder.mkdir(parents=True, exist_ok=True)
        return self._folder / f"{mark}-{_name(where)}"


def _name(where: str) -> str:
    """Last part of an address."""
    return PurePosixPath(urlsplit(where).path).name or "file"


def _beside(path: Path) -> Path:
    """The file that keeps what the service said."""
    return path.with_name(path.name + ".said.json")


def _said(path: Path) -> dict[str, str]:
    """What the service said of a file; nothing where that is lost."""
    try:
        said: object = json.loads(_beside(path).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    if not isinstance(said, dict):
        return {}
    texts = ((name, cast("dict[str, object]", said).get(name)) for name in KEPT_HEADERS)
    return {name: text for name, text in texts if isinstance(text, str)}


def _conditions(path: Path) -> dict[str, str]:
    """Ask only for what changed, where we have a whole file and know which."""
    if not path.exists():
        return {}
    said = _said(path)
    names = {"etag": "If-None-Match", "last_modified": "If-Modified-Since"}
    return {names[ours]: text for ours, text in said.items()}


def _issued(path: Path) -> datetime | None:
    """When the service last changed the file."""
    text = _said(path).get("last_modified")
    if text is None:
        return None
    try:
        moment = parsedate_to_datetime(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
