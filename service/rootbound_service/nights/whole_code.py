"""The rules' compiled code is made by a process of its own, so that all others read the same."""

from __future__ import annotations

import subprocess
import sys
from functools import cache

import structlog

MAKE = "from rootbound_rules.season.ready import {0}; {0}()"
_log = structlog.get_logger(__name__)


@cache
def read_whole_code(*, many: bool = False) -> None:
    """See to it, before anything is computed, that the compiled code is kept.

    The first process after an upgrade would otherwise differ from all later ones in the seventh
    digit, and ``explain`` could not compute its notes again to the digit.

    Parameters
    ----------
    many
        Also that of the night of very many fields, which takes a minute to make.
    """
    from rootbound_rules.season.ready import MANY, MARK, kept

    _make("compile_all", there=kept(MARK))
    if many:
        _make("compile_night", there=kept(MANY))


def _make(name: str, *, there: bool) -> None:
    """Have a process of its own compile what is not kept yet."""
    if there:
        return
    words = [sys.executable, "-c", MAKE.format(name)]
    made = subprocess.run(words, check=False, capture_output=True)  # noqa: S603  (our own words)
    if made.returncode:
        _log.warning("code_not_kept", said=made.stderr.decode("utf-8", "replace")[-200:])
