"""The last answer of each grid point, so that we may ask for it only if it has changed."""

from __future__ import annotations

import gzip
import zlib
from typing import TYPE_CHECKING

from rootbound_service.weather.answers import write_whole

if TYPE_CHECKING:
    from pathlib import Path

    from rootbound_service.weather.forecast.nws_points import GridPoint


class KeptAnswers:
    """A folder of answers, one a grid point.

    Parameters
    ----------
    folder
        Made when first needed.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def find(self, point: GridPoint) -> tuple[str, bytes] | None:
        """Look up when an answer had last changed, in the service's words, and the answer.

        Parameters
        ----------
        point
            Whose.
        """
        try:
            kept = gzip.decompress(self._path(point).read_bytes())
        except (OSError, EOFError, zlib.error):
            return None
        changed, _, body = kept.partition(b"\n")
        return (changed.decode("ascii", "replace"), body) if changed and body else None

    def keep(self, point: GridPoint, changed: str | None, body: bytes) -> None:
        """Put an answer in the place of the last.

        Parameters
        ----------
        point
            Whose.
        changed
            The service's ``Last-Modified``; without it there is nothing to ask by.
        body
            As it came.
        """
        if not changed or not changed.isascii() or not changed.isprintable():
            self.forget(point)
            return
        self._folder.mkdir(parents=True, exist_ok=True)
        kept = gzip.compress(changed.encode() + b"\n" + body, mtime=0)
        write_whole(self._path(point), kept)

    def forget(self, point: GridPoint) -> None:
        """Drop an answer.

        Parameters
        ----------
        point
            Whose.
        """
        self._path(point).unlink(missing_ok=True)

    def _path(self, point: GridPoint) -> Path:
        """Where a grid point's answer is."""
        return self._folder / f"{point.office}-{point.x}-{point.y}.gz"
