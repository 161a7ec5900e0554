"""Keeps the raw answers of a weather service, so that any number can be traced to its source."""

from __future__ import annotations

import gzip
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Answer


class AnswerShelf:
    """A folder of answers, one sub-folder a cell.

    Parameters
    ----------
    root
        The service's folder, made when first needed.
    """

    def __init__(self, root: Path) -> None:
        self._root = root

    def keep(self, cell: Cell, answer: Answer) -> Path | None:
        """Store an answer unless the same one for the same days is there.

        Parameters
        ----------
        cell
            The cell that was asked for.
        answer
            What came.

        Returns
        -------
        Path or None
            The new file, or None if the shelf has this answer already.
        """
        folder = self._root / cell.folder
        span = f"{answer.start:%Y%m%d}-{answer.end:%Y%m%d}"
        path = folder / f"{span}-{answer.fingerprint[:12]}.json.gz"
        if path.exists():
            return None
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(path, gzip.compress(answer.raw, mtime=0))
        return path

    def of_cell(self, cell: Cell) -> list[Path]:
        """List a cell's answers by the days they cover."""
        return sorted((self._root / cell.folder).glob("*.json.gz"))


def read_copy(path: Path) -> bytes:
    """Read a stored answer as it came from the service."""
    return gzip.decompress(path.read_bytes())


def write_whole(path: Path, content: bytes) -> None:
    """Write a file that is seen whole or not at all: another name first, then a rename."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
