"""What ``rootbound doctor`` reads of the machine it runs on."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rootbound_service.public.checkup_disk import Folder
    from rootbound_service.public.checkup_secrets import Kept
    from rootbound_service.public.finding import Finding
    from rootbound_service.settings import Settings

MOUNTS = Path("/proc/mounts")
GIVEN_IN = "/run/secrets/"
"""Where a container is given its secrets: read-only, open within, and nobody else is within."""
SIDES = ("", "-wal", "-shm")
"""An SQLite database and the files that it has beside it while in use."""


def check_disk(settings: Settings) -> list[Finding]:
    """Look at the disks that data and database lie on.

    Parameters
    ----------
    settings
        Where they are.
    """
    from rootbound_service.public.checkup_disk import check_kind, check_room, check_writable

    database = database_file(settings)
    data = folder_of(settings.data_dir)
    if database is None:
        return [check_writable(data), check_kind(data, sqlite=False), check_room(data, 0)]
    size = sum(path.stat().st_size for path in _beside(database) if is_there(path))
    home = folder_of(database.parent)
    found = [check_writable(home), check_kind(home, sqlite=True), check_room(home, size)]
    if home.path != data.path:
        found += [check_writable(data), check_kind(data, sqlite=False), check_room(data, 0)]
    return found


def check_secrets(settings: Settings, env: Mapping[str, str]) -> list[Finding]:
    """Look who may read the files that are not for everybody.

    Parameters
    ----------
    settings
        Where they are.
    env
        The environment, which names the files that hold secrets.
    """
    from rootbound_service.public.checkup_secrets import check_owner, check_secret_files
    from rootbound_service.secret import NAME
    from rootbound_service.settings import FROM_FILE, PREFIX

    files = {settings.data_dir / NAME: "the secret that signs links"}
    if settings.dkim_key_file:
        files[settings.dkim_key_file] = "the key that signs letters"
    for name in FROM_FILE:
        given = env.get(f"{PREFIX}{name.upper()}_FILE")
        if given and not given.startswith(GIVEN_IN):
            files[Path(given).expanduser()] = f"{PREFIX}{name.upper()}"
    database = database_file(settings)
    if database:
        files[database] = "people's addresses and their fields"
    me, data = os.geteuid(), existing(settings.data_dir)
    return [
        *check_owner(data.stat().st_uid, me, str(data)),
        *check_secret_files([kept(*one) for one in files.items() if is_there(one[0])], me),
    ]


def database_file(settings: Settings) -> Path | None:
    """Give the file of the database; None where it is on a server.

    Parameters
    ----------
    settings
        With the database's URL.
    """
    from sqlalchemy import make_url
    from sqlalchemy.exc import ArgumentError

    try:
        url = make_url(settings.database_url)
    except ArgumentError:
        return None  # named when the service is opened
    if url.get_backend_name() != "sqlite" or not url.database:
        return None
    return Path(url.database)


def folder_of(path: Path) -> Folder:
    """Ask the machine about a folder, or the nearest above it that is there.

    Parameters
    ----------
    path
        The folder.
    """
    from rootbound_service.public.checkup_disk import Folder, kind_of

    there = existing(path)
    mounts = MOUNTS.read_text("utf-8", "replace") if MOUNTS.exists() else ""
    return Folder(
        path=str(there),
        kind=kind_of(str(there.resolve()), mounts),
        free=shutil.disk_usage(there).free,
        writable=os.access(there, os.W_OK | os.X_OK),
    )


def kept(path: Path, holds: str) -> Kept:
    """Ask the machine who may read a file.

    Parameters
    ----------
    path
        A file that is there.
    holds
        What stands in it, in few words.
    """
    from rootbound_service.public.checkup_secrets import Kept

    real = path.resolve()
    own = real.stat()
    above = tuple(one.stat().st_mode & 0o777 for one in real.parents)
    return Kept(str(path), holds, own.st_mode & 0o777, own.st_uid, above)


def existing(path: Path) -> Path:
    """Give a path, or the nearest above it that is there.

    Parameters
    ----------
    path
        May not be made yet.
    """
    real = path.absolute()
    return next(one for one in (real, *real.parents) if is_there(one))


def is_there(path: Path) -> bool:
    """Tell whether a path is there; one in a folder that is closed to us is not.

    Parameters
    ----------
    path
        Any.
    """
    try:
        return path.exists()
    except PermissionError:
        return False


def _beside(database: Path) -> list[Path]:
    return [database.with_name(database.name + side) for side in SIDES]
