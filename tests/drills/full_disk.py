"""The disk full at each page of a night in turn, then room again: the next start heals.

A file system of our own in memory, in a user namespace, so that no root is needed: the kernel
itself says ENOSPC to whoever asks, SQLite's C code and every library included. The room left
grows page by page of what a night needs. What this cannot show: a disk that fails with another
error, a quota, and a network file system that says so at close or fsync only.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path

from drills.held import Tally, held_by
from drills.rest import morning, night_is_done, run_night
from drills.world import World

INSIDE = "DRILL_OWN_DISK"
ROOMY = 512 << 20
PAGE = 4096


def full_disk(world: World, times: int) -> Tally:
    """Let the disk be full after so many pages, from none to all that a night needs."""
    tally, begun = Tally("disk full"), time.monotonic()
    whole = world.folder
    world.folder = _mounted()
    try:
        shutil.copytree(whole / "base", world.base)
        with world.place() as place:
            before, most, tick = _used(world.folder), 0, threading.Event()
            night = place.start("nightly")
            while night.alive:
                most = max(most, _used(world.folder))
                tick.wait(0.002)
            run_night(place)
            morning(place)
            quiet, need = held_by(place), most - before + 16 * PAGE
        for number in range(times):
            room = (number * need // times) // PAGE * PAGE
            with world.place() as place:
                _resize(world.folder, _used(world.folder) + room)
                first = place.start("nightly")
                first.end()
                cut = not night_is_done(place) or "No space" in first.text
                _resize(world.folder, ROOMY)
                again = run_night(place)
                morning(place)
                tally.take(f"{number}, {room >> 10} kB left", held_by(place), quiet, hit=cut)
                tally.hear(again.text)
                if cut and "full" not in first.text and "No space" not in first.text:
                    tally.wrong.append(f"{room >> 10} kB: not said: {first.text[-400:]}")
    finally:
        world.folder = whole
    tally.seconds = time.monotonic() - begun
    return tally


def enter() -> None:
    """Begin this program again where it may mount a file system; returns when it can."""
    if os.environ.get(INSIDE):
        return
    os.environ[INSIDE] = "yes"
    again = ["unshare", "-Urm", sys.executable, "-m", "drills", *sys.argv[1:]]
    os.execvp("unshare", again)  # noqa: S606  a shell would add nothing


def possible() -> bool:
    """Whether this machine lets a user have a file system of their own."""
    tried = ["unshare", "-Urm", "mount", "-t", "tmpfs", "tmpfs", "/mnt"]
    if shutil.which("unshare") is None:
        return False
    return subprocess.run(tried, capture_output=True, check=False).returncode == 0


def _mounted() -> Path:
    folder = Path(os.environ.get("TMPDIR", "/tmp")) / f"rootbound-disk-{os.getpid()}"  # noqa: S108
    folder.mkdir(exist_ok=True)
    _run("mount", "-t", "tmpfs", "-o", f"size={ROOMY}", "tmpfs", str(folder))
    return folder


def _resize(folder: Path, size: int) -> None:
    _run("mount", "-o", f"remount,size={size}", str(folder))


def _run(*command: str) -> None:
    subprocess.run(command, check=True)


def _used(folder: Path) -> int:
    found = os.statvfs(folder)
    return (found.f_blocks - found.f_bfree) * found.f_frsize
