"""A sky whose first caller dies: workers find it under its name."""

from __future__ import annotations

import os
import signal
from pathlib import Path


def sky_that_dies(mark: Path, open_sky):
    """Open the sky, but kill the first worker that asks for it."""
    try:
        mark.touch(exist_ok=False)
    except FileExistsError:
        return open_sky()
    os.kill(os.getpid(), signal.SIGKILL)
    return None
