"""Small files that never change once they have their name, in a folder or as objects."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from rootbound_service.weather.answers import write_whole

if TYPE_CHECKING:
    from rootbound_service.weather.objects import Objects


class Drawer(Protocol):
    """Files by name; a name may have steps."""

    def names(self, folder: str) -> list[str]:
        """Names of the files right in a folder, in order, without the folder's."""
        ...

    def folders(self) -> list[str]:
        """Names of all folders."""
        ...

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        ...

    def read(self, name: str) -> bytes | None:
        """Content of a file, None where it is not there."""
        ...

    def put(self, name: str, content: bytes) -> None:
        """Write a file that is seen whole or not at all."""
        ...

    def remove(self, name: str) -> None:
        """Remove a file, if it is there."""
        ...


class FolderDrawer:
    """Files in a folder.

    Parameters
    ----------
    root
        Made when first needed.
    """

    def __init__(self, root: Path) -> None:
        self._root = root

    def names(self, folder: str) -> list[str]:
        """Names of the files right in a folder, in order."""
        place = self._root / folder
        return sorted(path.name for path in place.iterdir()) if place.is_dir() else []

    def folders(self) -> list[str]:
        """Names of all folders."""
        if not self._root.is_dir():
            return []
        return sorted(path.name for path in self._root.iterdir() if path.is_dir())

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        return (self._root / name).exists()

    def read(self, name: str) -> bytes | None:
        """Content of a file, None where it is not there."""
        try:
            return (self._root / name).read_bytes()
        except FileNotFoundError:
            return None

    def put(self, name: str, content: bytes) -> None:
        """Write a file under another name first, then rename it."""
        path = self._root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, content)

    def remove(self, name: str) -> None:
        """Remove a file, if it is there."""
        (self._root / name).unlink(missing_ok=True)


class ObjectDrawer:
    """Files as objects; a put is whole by itself.

    Parameters
    ----------
    objects
        Below the drawer's own prefix.
    """

    def __init__(self, objects: Objects) -> None:
        self._objects = objects

    def names(self, folder: str) -> list[str]:
        """Names of the files right in a folder, in order."""
        inside = [one.name.removeprefix(f"{folder}/") for one in self._objects.listed(folder)]
        return [name for name in inside if "/" not in name]

    def folders(self) -> list[str]:
        """Names of all folders."""
        return self._objects.folders("")

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        return self._objects.has(name)

    def read(self, name: str) -> bytes | None:
        """Content of a file, None where it is not there."""
        found = self._objects.get(name)
        return None if found is None else found.content

    def put(self, name: str, content: bytes) -> None:
        """Put an object."""
        self._objects.put(name, content)

    def remove(self, name: str) -> None:
        """Remove an object, if it is there."""
        self._objects.remove((name,))


def drawer_in(place: Path | Objects, name: str) -> Drawer:
    """Give the drawer of a name in a place.

    Parameters
    ----------
    place
        A folder, or objects.
    name
        One or more steps, without a slash at either end.
    """
    if isinstance(place, Path):
        return FolderDrawer(place / name)
    return ObjectDrawer(place.under(name))
