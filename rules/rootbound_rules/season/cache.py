"""Where compiled code is kept between starts, and when it is too old to use.

The compiler's own cache looks only at the file of the function it keeps. Our kernel is
made of many files, so the folder's name carries a fingerprint of all of them: change an
equation and the next start compiles anew.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from numba import config, njit

if TYPE_CHECKING:
    from collections.abc import Callable

KEPT = 3
"""Folders of other versions that stay: somebody may be switching between them."""
PACKAGE = Path(__file__).resolve().parent.parent


@cache
def fingerprint() -> str:
    """Return a fingerprint of every source file of the rules."""
    digest = hashlib.sha256()
    for path in sorted(PACKAGE.rglob("*.py")):
        digest.update(path.relative_to(PACKAGE).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


@cache
def rules_fingerprint() -> str:
    """Return a fingerprint of every equation and every row: the version a note was made by."""
    digest = hashlib.sha256(fingerprint().encode())
    for path in sorted(PACKAGE.rglob("*.toml")):
        digest.update(path.relative_to(PACKAGE).as_posix().encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


@cache
def folder() -> str:
    """Return the folder that compiled code is kept in: the first of ours that can be written."""
    chosen = os.environ.get("ROOTBOUND_KERNEL_CACHE")
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path("~/.cache").expanduser())
    places = [Path(chosen)] if chosen else [PACKAGE / "__pycache__", home / "rootbound"]
    for place in [*places, Path(tempfile.gettempdir()) / f"rootbound-{os.getuid()}"]:
        target = place / f"kernel-{fingerprint()}"
        try:
            target.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(target, os.W_OK):
            _forget_old(place, target)
            return str(target)
    return ""


def _forget_old(place: Path, current: Path) -> None:
    """Keep the newest few folders: every changed equation leaves one behind."""
    others = [old for old in place.glob("kernel-*") if old != current]
    others.sort(key=lambda old: old.stat().st_mtime)
    for old in others[: -KEPT or None]:
        shutil.rmtree(old, ignore_errors=True)


def cached(function: Callable[..., Any], **options: Any) -> Callable[..., Any]:
    """Compile ``function`` on its first call, or read it from the folder.

    Parameters
    ----------
    function
        A function that numba can compile.
    options
        For ``numba.njit``.
    """
    settings: Any = config
    before = settings.CACHE_DIR
    settings.CACHE_DIR = folder()
    try:
        made: Callable[..., Any] = njit(cache=bool(folder()), **options)(function)
    finally:
        settings.CACHE_DIR = before
    return made
