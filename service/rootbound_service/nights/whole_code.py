"""The rules' compiled code is made by a process of its own, so that all others read the same."""

from __future__ import annotations

import subprocess
import sys
from functools import cache

import structlog

MAKE = "from rootbound_rules.season.ready import compile_all; compile_all()"
_log = structlog.get_logger(__name__)


@cache
def read_whole_code() -> None:
    """See to it, before anything is computed, that the compiled code is kept.

    The first process after an upgrade would otherwise differ from all later ones in the seventh
    digit, and ``explain`` could not compute its notes again to the digit.
    """
    from rootbound_rules.season.ready import kept

    if kept():
        return
    made = subprocess.run([sys.executable, "-c", MAKE], check=False, capture_output=True)  # noqa: S603  (our own words)
    if made.returncode:
        _log.warning("code_not_kept", said=made.stderr.decode("utf-8", "replace")[-200:])
