"""Where the stored weather lies: a folder of this machine, or objects behind one address."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

from rootbound_service.errors import Problem, RefusedInput

if TYPE_CHECKING:
    from obstore.store import ObjectStore, RetryConfig

    from rootbound_service.settings import Settings
    from rootbound_service.weather.objects import Objects

SETTING = "ROOTBOUND_WEATHER_STORE"
EXTRA = "pip install 'rootbound[objects]'"
WANTED = "give file:///a/folder, s3://bucket/prefix, or leave it out for the data folder"
RETRIES: RetryConfig = {"max_retries": 4}
"""Besides the first try, each later than the one before, by the library."""


def weather_place(settings: Settings) -> Path | Objects:
    """Give the place of the weather that the settings name.

    Parameters
    ----------
    settings
        ``weather_store``, or else the data folder.

    Returns
    -------
    Path or Objects
        Arrays lie below ``weather`` in it, forecasts below ``forecasts``.

    Raises
    ------
    RefusedInput
        If the address is none of ours, or what reads objects is not installed.
    """
    if settings.weather_store is None:
        return settings.data_dir
    return place_of(settings.weather_store)


def place_of(url: str) -> Path | Objects:
    """Give the place that an address names.

    Parameters
    ----------
    url
        ``file:///a/folder``, ``s3://bucket/prefix`` or, for trials, ``memory://name``.

    Raises
    ------
    RefusedInput
        If it is none of those, or what reads objects is not installed.
    """
    parts = urlsplit(url)
    if parts.query or parts.fragment or "@" in parts.netloc:
        what = f"{parts.scheme}:// with more than a bucket and a prefix"
        raise _refused(what, "give keys and the endpoint by the usual AWS_* variables")
    path = unquote(parts.path)
    if parts.scheme == "file":
        if parts.netloc not in {"", "localhost"} or not path.strip("/"):
            raise _refused(f"{url!r} names no folder", WANTED)
        return Path(path)
    if parts.scheme not in {"s3", "memory"} or not parts.netloc:
        raise _refused(f"{url!r} is no such place", WANTED)
    steps = path.strip("/").split("/")
    if any(step in {".", ".."} for step in steps):
        raise _refused(f"{url!r} climbs out of its bucket", WANTED)
    try:
        from rootbound_service.weather.objects import Objects

        store = _s3(parts.netloc) if parts.scheme == "s3" else _memory(parts.netloc)
    except ModuleNotFoundError as error:
        what = f"{error.name} is not installed, and {parts.scheme}:// needs it"
        raise _refused(what, EXTRA) from None
    return Objects(store, url.rstrip("/"), "/".join(steps))


@lru_cache(maxsize=16)
def _memory(name: str) -> ObjectStore:
    """Give the store in this process's memory that goes by a name."""
    from obstore.store import MemoryStore

    del name  # the cache holds one for each
    return MemoryStore()


def _s3(bucket: str) -> ObjectStore:
    """Give a bucket; endpoint, region and keys are read from the AWS_* variables by the library."""
    from obstore.exceptions import BaseError
    from obstore.store import S3Store

    try:
        return S3Store(bucket, retry_config=RETRIES)
    except (BaseError, ValueError) as error:
        raise _refused(f"the bucket {bucket!r} cannot be opened ({error})", WANTED) from None


def _refused(what: str, wanted: str) -> RefusedInput:
    return RefusedInput((Problem(SETTING, what, wanted),))
