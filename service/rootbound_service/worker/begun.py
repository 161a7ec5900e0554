"""Which night is in hand, noted in the data folder: what is found there was cut off."""

from __future__ import annotations

from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

import structlog

if TYPE_CHECKING:
    from collections.abc import Generator
    from datetime import date, datetime
    from pathlib import Path

FILE = "night-begun"
_log = structlog.get_logger(__name__)


@contextmanager
def in_hand(folder: Path, night: date, now: datetime) -> Generator[None]:
    """Have a night noted as long as it is in hand, and say if an earlier one was cut off.

    Parameters
    ----------
    folder
        The data folder.
    night
        The night.
    now
        The time.
    """
    path = folder / FILE
    with suppress(OSError):  # a note that cannot be read or written stops no night
        if path.exists():
            before, _, begun = path.read_text(encoding="utf-8", errors="replace").partition(" ")
            _log.warning("night_was_cut_off", night=before, begun=begun, runs_now=str(night))
        path.write_text(f"{night} {now.isoformat()}", encoding="utf-8")
    try:
        yield
    finally:
        with suppress(OSError):
            path.unlink(missing_ok=True)
