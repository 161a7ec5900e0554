"""What a process really asks of the disk for its SQLite files, in order, as strace tells it."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from drills.processes import PATH
from drills.world import Place

Kind = Literal["write", "sync", "cut", "make", "gone", "tie"]
LINE = re.compile(r"^\d+\s+(\w+)\((.*)\)\s+=\s+(-?\d+)")
OPENED = re.compile(r"^\d+\s+openat\(")
TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')
NAMED = re.compile(r"^\d+<((?:\\x[0-9a-f]{2})*)>")
CALLS = "pwrite64,fdatasync,fsync,ftruncate,unlink,openat"


@dataclass(frozen=True, slots=True)
class Op:
    """One request: of which file, and what of it."""

    kind: Kind
    file: str
    offset: int = 0
    data: bytes = b""


def found() -> bool:
    """Whether this machine can tell."""
    return shutil.which("strace") is not None


def record(place: Place, database: Path, command: tuple[str, ...], **more: str) -> list[Op]:
    """Run a command of the service to its end under strace."""
    log = place.folder.parent / f"{place.folder.name}.trace"
    files = [f"{database}{end}" for end in ("", "-journal", "-wal")]
    paths = [part for one in (*files, str(database.parent)) for part in ("-P", one)]
    trace = ["strace", "-f", "-y", "-xx", "-s", "70000", "-o", str(log), "-e", f"trace={CALLS}"]
    child = [sys.executable, "-m", "drills.child", str(place.clock), *command]
    import os

    inherited = {k: v for k, v in os.environ.items() if not k.startswith("ROOTBOUND_")}
    env = inherited | place.env | more | {"PYTHONPATH": PATH}
    said = subprocess.run([*trace, *paths, *child], env=env, capture_output=True, check=False)
    if said.returncode:
        raise RuntimeError(said.stderr.decode()[-2000:])
    ops = list(_ops(log, database))
    log.unlink()
    return ops


def _ops(log: Path, database: Path) -> Iterator[Op]:
    """The requests for the database's own files and its folder."""
    ours = {f"{database}{end}" for end in ("", "-journal", "-wal")}
    whole = ""
    for line in log.read_text(encoding="ascii").splitlines():
        if "<unfinished" in line:
            whole = line.split("<unfinished")[0]
            continue
        if "resumed>" in line:
            line = whole + line.split("resumed>", 1)[1]  # noqa: PLW2901  its two halves
        match = LINE.match(line)
        if match is None or int(match[3]) < 0:
            continue
        call, given = match[1], match[2]
        if call in {"openat", "unlink"}:
            name = _bytes(TEXT.search(given)).decode()
            if name in ours and (call == "unlink" or "O_CREAT" in given):
                yield Op("gone" if call == "unlink" else "make", name)
            continue
        name = _bytes(NAMED.match(given)).decode().removesuffix(" (deleted)")
        if call in {"fdatasync", "fsync"} and name == str(database.parent):
            yield Op("tie", name)
        elif name in ours:
            yield _of_file(call, given, name)


def _of_file(call: str, given: str, name: str) -> Op:
    if call == "pwrite64":
        return Op("write", name, int(given.rsplit(",", 1)[1]), _bytes(TEXT.search(given)))
    if call == "ftruncate":
        return Op("cut", name, int(given.rsplit(",", 1)[1]))
    return Op("sync", name)


def _bytes(match: re.Match[str] | None) -> bytes:
    return bytes.fromhex(match[1].replace("\\x", "")) if match else b""
