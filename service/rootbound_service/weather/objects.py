"""Objects under one prefix of a store: each put whole, one swapped only where nobody was quicker.

Any store that speaks the S3 protocol with conditional writes (``If-None-Match``, ``If-Match``),
or one in memory. What a folder has and objects lack, a rename of many and a lock, is built on
that one swap in :mod:`rootbound_service.weather.grid_object_seat`.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, cast

from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from obstore import GetOptions, PutMode, PutResult, UpdateVersion
    from obstore.store import ObjectStore

MEND = "look at the address, the AWS_* variables and the way to it; rootbound doctor tries it"


class OvertakenError(ServiceError):
    """Somebody else has swapped the same object first."""


@dataclass(frozen=True, slots=True)
class Found:
    """An object as it was read."""

    content: bytes
    tag: str
    """Its ETag: another content, another tag."""


@dataclass(frozen=True, slots=True)
class Listed:
    """An object as a list tells of it."""

    name: str
    at: datetime
    """When it was put, by the store's own clock."""


class Objects:
    """Objects by name, relative to one prefix.

    Parameters
    ----------
    store
        Of obstore.
    url
        How people know it, for sentences.
    prefix
        Before every name; empty for none.
    """

    def __init__(self, store: ObjectStore, url: str, prefix: str = "") -> None:
        self._store = store
        self._prefix = f"{prefix.strip('/')}/" if prefix.strip("/") else ""
        self.url = url

    def under(self, name: str) -> Objects:
        """Give the objects of a prefix below this one.

        Parameters
        ----------
        name
            One or more steps, without a slash at either end.
        """
        return Objects(self._store, f"{self.url.rstrip('/')}/{name}", f"{self._prefix}{name}")

    def get(self, name: str, unless: str = "") -> Found | None:
        """Read an object.

        Parameters
        ----------
        name
            Of the object.
        unless
            A tag; where the object still has it, nothing is read.

        Returns
        -------
        Found or None
            None where it is not there; without content where ``unless`` is still its tag.

        Raises
        ------
        ServiceError
            If the store does not answer or refuses.
        """
        import obstore
        from obstore.exceptions import NotModifiedError

        options = cast("GetOptions", {"if_none_match": unless} if unless else {})
        with self._said():
            try:
                got = obstore.get(self._store, self._prefix + name, options=options)
                return Found(bytes(got.bytes()), str(got.meta["e_tag"]))
            except FileNotFoundError:
                return None
            except NotModifiedError:
                return Found(b"", unless)

    def has(self, name: str) -> bool:
        """Tell whether there is an object of a name.

        Parameters
        ----------
        name
            Of the object.
        """
        import obstore

        with self._said():
            try:
                obstore.head(self._store, self._prefix + name)
            except FileNotFoundError:
                return False
            return True

    def put(self, name: str, content: bytes) -> None:
        """Put an object, whether or not there is one.

        Parameters
        ----------
        name
            Of the object.
        content
            All of it.
        """
        import obstore

        with self._said():
            obstore.put(self._store, self._prefix + name, content, use_multipart=False)

    def swap(self, name: str, content: bytes, tag: str | None) -> str:
        """Put an object only if it is still as it was read.

        Parameters
        ----------
        name
            Of the object.
        content
            All of it.
        tag
            Of the one to be replaced; None: there was none.

        Returns
        -------
        str
            The new tag.

        Raises
        ------
        OvertakenError
            If it has changed since; nothing was put.
        ServiceError
            If the store does not answer or refuses.
        """
        import obstore
        from obstore.exceptions import AlreadyExistsError, PreconditionError

        mode: PutMode = "create" if tag is None else cast("UpdateVersion", {"e_tag": tag})
        with self._said():
            try:
                done: PutResult = obstore.put(
                    self._store, self._prefix + name, content, mode=mode, use_multipart=False
                )
                return str(done["e_tag"])
            except (AlreadyExistsError, PreconditionError, FileNotFoundError) as error:
                now = self.get(name)
                if now is not None and now.content == content:
                    return now.tag  # ours came through, its answer did not
                message = f"{self.url}/{name}: somebody else has written meanwhile; try again"
                raise OvertakenError(message) from error

    def listed(self, folder: str) -> list[Listed]:
        """List the objects below a folder, by name.

        Parameters
        ----------
        folder
            One or more steps, without a slash at either end.
        """
        import obstore

        with self._said():
            batch = obstore.list(self._store, self._prefix + folder).collect()
        found = [
            Listed(one["path"].removeprefix(self._prefix), one["last_modified"]) for one in batch
        ]
        return sorted(found, key=lambda one: one.name)

    def folders(self, folder: str) -> list[str]:
        """List the folders right below a folder, by their own names.

        Parameters
        ----------
        folder
            One or more steps, without a slash at either end.
        """
        import obstore

        with self._said():
            found = obstore.list_with_delimiter(self._store, self._prefix + folder)
        return sorted(one.rstrip("/").rpartition("/")[2] for one in found["common_prefixes"])

    def remove(self, names: Sequence[str]) -> None:
        """Remove objects; those that are not there are passed over.

        Parameters
        ----------
        names
            Of the objects.
        """
        import obstore

        if not names:
            return
        with self._said():
            for name in names if len(names) == 1 else ():
                obstore.delete(self._store, self._prefix + name)
            if len(names) > 1:
                obstore.delete(self._store, [self._prefix + name for name in names])

    async def get_async(self, name: str) -> bytes | None:
        """Read an object while others are read; None where it is not there.

        Parameters
        ----------
        name
            Of the object.
        """
        import obstore

        with self._said():
            try:
                got = await obstore.get_async(self._store, self._prefix + name)
                return bytes(await got.bytes_async())
            except FileNotFoundError:
                return None

    async def put_async(self, name: str, content: bytes) -> None:
        """Put an object while others are put.

        Parameters
        ----------
        name
            Of the object.
        content
            All of it.
        """
        import obstore

        with self._said():
            await obstore.put_async(self._store, self._prefix + name, content, use_multipart=False)

    @contextmanager
    def _said(self) -> Generator[None]:
        """Say what the store's library says as a sentence of ours."""
        from obstore.exceptions import BaseError

        try:
            yield
        except (BaseError, OSError) as error:
            if isinstance(error, FileNotFoundError):
                raise  # told by whoever asked
            what = f"the object store gave nothing ({type(error).__name__}: {_short(error)})"
            raise ServiceError(f"{self.url}: {what}; {MEND}") from error


def _short(error: BaseException) -> str:
    """The first line of what a library says, without its own long dump."""
    return next((line.strip() for line in str(error).splitlines() if line.strip()), "")[:200]
