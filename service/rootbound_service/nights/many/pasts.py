"""Past years behind a night's notes: left by the workers in a folder, kept by the record.

A file whose name is a fingerprint waits to be kept; an empty one stands for past years that the
database holds already, so that no worker packs them again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from rootbound_service.store.kept_weather import kept_among

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from pathlib import Path

    from sqlalchemy import Connection

FOLDER = "pasts"


def leave(folder: Path, pasts: Mapping[str, Callable[[], bytes]]) -> list[str]:
    """Leave past years for the record.

    Parameters
    ----------
    folder
        Of the night's sweep.
    pasts
        From :func:`rootbound_service.nights.keeping.pasts_of`.

    Returns
    -------
    list of str
        Their fingerprints.
    """
    for fingerprint, pack in pasts.items():
        path = folder / FOLDER / fingerprint
        if not path.exists():
            passing = path.with_name(f"{fingerprint}-{uuid4().hex[:8]}")
            passing.write_bytes(pack())
            passing.replace(path)
    return list(pasts)


def waiting(folder: Path, fingerprints: Iterable[str]) -> dict[str, Callable[[], bytes]]:
    """Give those of some past years that are not kept yet.

    Parameters
    ----------
    folder
        Of the night's sweep.
    fingerprints
        What notes rest on.
    """
    left = {one: folder / FOLDER / one for one in fingerprints}
    return {one: path.read_bytes for one, path in left.items() if path.stat().st_size}


def empty_kept(folder: Path) -> None:
    """Empty what was kept; the names stay.

    Parameters
    ----------
    folder
        Of the night's sweep.
    """
    for path in (folder / FOLDER).iterdir():
        if path.stat().st_size:
            path.write_bytes(b"")


def forget_unkept(conn: Connection, folder: Path) -> int:
    """Delete the names of past years that the database does not hold: it may be a restored one.

    Parameters
    ----------
    conn
        The caller's transaction; reading is enough.
    folder
        Of the night's sweep.

    Returns
    -------
    int
        How many there were.
    """
    here = {path.name: path for path in (folder / FOLDER).iterdir()}
    for cut_off in [one for one in here if "-" in one]:  # a worker was killed as it wrote
        here.pop(cut_off).unlink()
    empty = {one: path for one, path in here.items() if not path.stat().st_size}
    gone = empty.keys() - kept_among(conn, empty)
    for fingerprint in gone:
        empty[fingerprint].unlink()
    return len(gone)
