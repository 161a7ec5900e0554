"""What is made once in a run of the tests and copied: whichever worker needs it first makes it."""

from __future__ import annotations

import fcntl
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

_run: list[Path] = []


def begin_run(folder: Path) -> None:
    """Keep what is made in a folder that all workers of this run share.

    Parameters
    ----------
    folder
        Somebody removes it after the run.
    """
    folder.mkdir(exist_ok=True)
    _run[:] = [folder]


def copy_of(name: str, make: Callable[[Path], None], target: Path) -> None:
    """Copy what ``make`` puts into a folder; outside a run of the tests it is made each time.

    Parameters
    ----------
    name
        What it is; the same name must always mean the same content.
    make
        Puts it into an empty folder.
    target
        Where the copy goes, beside what is there already.
    """
    if _run:
        shutil.copytree(made_once(name, make), target, dirs_exist_ok=True)
        return
    with TemporaryDirectory() as folder:
        make(Path(folder))
        shutil.copytree(folder, target, dirs_exist_ok=True)


def made_once(name: str, make: Callable[[Path], None]) -> Path:
    """Give the folder that ``make`` filled once in this run, to be read and never written.

    Parameters
    ----------
    name
        What it is; the same name must always mean the same content.
    make
        Puts it into an empty folder.

    Returns
    -------
    Path
        The folder, whole: a maker that failed leaves none.
    """
    (run,) = _run
    folder = run / re.sub(r"\W+", "-", name)
    with folder.with_suffix(".lock").open("w", encoding="ascii") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # the other worker waits for it, and finds it
        if not folder.exists():
            with TemporaryDirectory(dir=run) as begun:
                whole = Path(begun) / "whole"
                whole.mkdir()
                make(whole)
                whole.rename(folder)
    return folder
