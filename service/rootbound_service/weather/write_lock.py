"""One writer at a time, across threads and processes of one host."""

from __future__ import annotations

import fcntl
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Generator
    from pathlib import Path

_threads = threading.RLock()


@contextmanager
def write_lock(path: Path) -> Generator[None]:
    """Hold the lock file; it is freed by the system if the process dies.

    Parameters
    ----------
    path
        The lock file, made when first needed and left in place.

    Yields
    ------
    None
        While nobody else writes.
    """
    with _threads, path.open("ab") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        yield
