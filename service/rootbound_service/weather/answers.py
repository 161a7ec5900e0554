"""Keeps the raw answers of a weather service, so that any number can be traced to its source."""

from __future__ import annotations

import gzip
import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.weather.cells import Cell
    from rootbound_service.weather.day import Block

MANY = "many"
"""Folder of the answers that hold several cells."""


class AnswerShelf:
    """A folder of one source's answers, one sub-folder a cell and one for many cells.

    Parameters
    ----------
    root
        The source's folder, made when first needed.
    """

    def __init__(self, root: Path) -> None:
        self._root = root

    def keep(self, block: Block) -> Path | None:
        """Store an answer as it came, unless the same one for the same days is there.

        Parameters
        ----------
        block
            What came; one without its raw answer is not kept.

        Returns
        -------
        Path or None
            The new file, or None if there is nothing to keep or the shelf has it already.
        """
        if not block.raw:
            return None
        folder = self._root / (block.cells[0].folder if len(block.cells) == 1 else MANY)
        span = f"{block.start:%Y%m%d}-{block.end:%Y%m%d}"
        path = folder / f"{span}-{block.fingerprint[:12]}.{block.suffix}.gz"
        if path.exists():
            return None
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(path, gzip.compress(block.raw, mtime=0))
        return path

    def of_cell(self, cell: Cell) -> list[Path]:
        """List the answers of one cell alone by the days they cover."""
        return sorted((self._root / cell.folder).glob("*.gz"))

    def of_many(self) -> list[Path]:
        """List the answers that hold several cells by the days they cover."""
        return sorted((self._root / MANY).glob("*.gz"))


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
