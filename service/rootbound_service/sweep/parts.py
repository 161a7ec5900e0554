"""Parts on disk: written under a passing name, then renamed, so that a part is whole or absent.

A folder holds the parts of one job; its fingerprint stands beside them. Whoever begins a sweep
empties a folder of another job: its parts follow from other values. Workers never do.
"""

from __future__ import annotations

import os
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import numpy as np

from rootbound_service.errors import ServiceError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from rootbound_service.sweep.job import Arrays

JOB = "job"
ENDING = ".npz"
PASSING = ".passing"


class Parts:
    """The parts of one job in a folder.

    Parameters
    ----------
    folder
        Where they lie.
    fingerprint
        Of the job.
    """

    def __init__(self, folder: Path, fingerprint: str) -> None:
        self.folder, self.fingerprint = folder, fingerprint

    @property
    def is_ours(self) -> bool:
        """Whether the folder holds parts of this job."""
        mark = self.folder / JOB
        return mark.exists() and mark.read_text(encoding="utf-8") == self.fingerprint

    def begin(self) -> None:
        """Make the folder ready: parts of another job and half-written ones are taken away."""
        self.folder.mkdir(parents=True, exist_ok=True)
        if not self.is_ours:
            self.clear()
            _replace(self.folder / JOB, self.fingerprint.encode())
        for path in self.folder.glob(f"*{PASSING}"):
            path.unlink(missing_ok=True)

    def clear(self) -> None:
        """Take every part away, half-written ones too."""
        for path in self.folder.iterdir():
            if path.name == JOB or path.suffix in {ENDING, PASSING}:
                path.unlink(missing_ok=True)

    def path(self, number: int) -> Path:
        """Where a part lies."""
        return self.folder / f"{number:08d}{ENDING}"

    def missing(self, count: int) -> list[int]:
        """Numbers of the parts that are not there yet, of ``count``."""
        found = {path.name for path in self.folder.glob(f"*{ENDING}")}
        return [number for number in range(count) if self.path(number).name not in found]

    def write(self, number: int, arrays: Arrays) -> None:
        """Write one part.

        Parameters
        ----------
        number
            Of the chunk.
        arrays
            What it came to.

        Raises
        ------
        ServiceError
            If the folder has been begun for another job meanwhile.
        """
        if not self.is_ours:
            raise ServiceError(f"{self.folder}: holds another job's parts by now")
        passing = self.folder / f"{number:08d}-{os.getpid()}-{uuid4().hex[:8]}{PASSING}"
        try:
            with passing.open("wb") as file:
                save: Any = np.savez
                save(file, **arrays)
                file.flush()
                os.fsync(file.fileno())
            passing.replace(self.path(number))
        finally:
            passing.unlink(missing_ok=True)

    def read(self, number: int) -> dict[str, NDArray[Any]]:
        """Read one part.

        Raises
        ------
        ServiceError
            If it is not whole; it is taken away, so that the next sweep computes it again.
        """
        path = self.path(number)
        try:
            with path.open("rb") as file, np.load(file, allow_pickle=False) as found:
                return {name: found[name] for name in found.files}
        except (OSError, ValueError, EOFError, zipfile.BadZipFile) as error:
            path.unlink(missing_ok=True)
            raise ServiceError(
                f"{path}: is not whole ({error}); it has been taken away, sweep again"
            ) from error


def _replace(path: Path, content: bytes) -> None:
    """Write a small file whole or not at all."""
    passing = path.with_name(f"{path.name}-{os.getpid()}{PASSING}")
    passing.write_bytes(content)
    passing.replace(path)
