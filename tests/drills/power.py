"""A power cut at any moment of a night on SQLite: what the disk may hold then, and what is read.

Every request for the database's files is recorded. At a cut all that was synced is there; of the
rest any part may be: whole, missing, torn within, or as zeros. The state read back must be that
of a commit not older than the last one that was confirmed. Disks that lie about a sync, and a
sector torn below 512 bytes, are not shown.
"""

from __future__ import annotations

import hashlib
import sqlite3
import time
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random

from drills.disk_state import Disk
from drills.held import Held, Tally, held_by
from drills.kills import quiet_run
from drills.recording import Op, record
from drills.rest import digests, morning, run_night
from drills.world import Place, World

FILE = "rootbound.db"
EVERY = 100
"""From every so-many-th state the service itself is started."""


def rollback(world: World, times: int, seed: int = 7) -> Tally:
    """With a rollback journal, as on a SQLite whose log is not safe."""
    return _power(world, times, Tally("power, journal"), Random(seed), {})


def ahead(world: World, times: int, seed: int = 8) -> Tally:
    """With a write-ahead log."""
    return _power(world, times, Tally("power, WAL"), Random(seed), {"DRILL_WAL": "1"})


@dataclass(frozen=True, slots=True)
class Commit:
    """One state of the database."""

    sure: int
    """After which request the process was told that it is there for good."""
    mark: str


@dataclass(frozen=True, slots=True)
class Recorded:
    """A process from its first request to its last, and what it had committed by when."""

    what: str
    place: Place
    first: bytes
    ops: list[Op]
    commits: list[Commit]


def _power(world: World, times: int, tally: Tally, rng: Random, how: dict[str, str]) -> Tally:
    """Half of the moments in the night, which commits once; half while its letters go."""
    begun = time.monotonic()
    quiet, _ = quiet_run(world, 1)
    with world.place() as night, world.place() as letters:
        one = _recorded(night, "nightly", how)
        run_night(letters)
        digests(letters)
        two = _recorded(letters, "send", how)
        for number in range(times):
            _cut(world, (one, two)[number % 2], number, rng, tally, quiet)
        tally.notes = [
            f"{len(one.commits) - 1} commits in the night, {len(two.commits) - 1} in the letters"
        ]
    tally.seconds = time.monotonic() - begun
    return tally


def _recorded(place: Place, command: str, how: dict[str, str]) -> Recorded:
    base = place.folder / FILE
    if how:
        _in_wal(base)
    first = base.read_bytes()
    ops = record(place, base, (command,), **how)
    return Recorded(command, place, first, ops, _commits(ops, first, place.folder / "cut"))


def _cut(world: World, of: Recorded, number: int, rng: Random, tally: Tally, quiet: Held) -> None:
    """Cut the power at one request, and read what is there."""
    cut_at = rng.randrange(len(of.ops) + 1)
    confirmed = max((n for n, one in enumerate(of.commits) if one.sure < cut_at), default=0)
    folder = of.place.folder / "cut"
    Disk(of.first, FILE).play(of.ops[:cut_at]).cut(rng).write(folder)
    copy = {one.name: one.read_bytes() for one in folder.glob(f"{FILE}*")}
    state, sound = _read(folder / FILE)
    name = f"{number}, {of.what} after {cut_at} of {len(of.ops)} requests"
    known = [one.mark for one in of.commits]
    if not sound:
        tally.wrong.append(f"{name}: integrity_check fails")
    elif state not in known:
        tally.wrong.append(f"{name}: half a transaction")
    elif state not in known[confirmed:]:
        tally.lost += 1
        tally.wrong.append(f"{name}: a confirmed commit is gone")
    else:
        tally.healed += 1
    tally.moments += 1
    tally.hit += cut_at < len(of.ops)
    if number % EVERY < len(("nightly", "send")):  # and the service itself starts from it
        _start_from(world, of, copy, tally, name, quiet)


def _start_from(
    world: World, of: Recorded, files: dict[str, bytes], tally: Tally, name: str, quiet: Held
) -> None:
    with world.place(of.place) as cut:
        for old in cut.folder.glob(f"{FILE}*"):
            old.unlink()
        for file, content in files.items():
            (cut.folder / file).write_bytes(content)
        run_night(cut)
        morning(cut)
        own, held = Tally(tally.drill), held_by(cut)
        if of.what == "send":  # some letters were in the mailbox before
            held, quiet = (replace(one, letters=frozenset()) for one in (held, quiet))
        own.take(name, held, quiet, hit=True)
        tally.wrong += own.wrong
        tally.doubled += own.doubled


def _in_wal(database: Path) -> None:
    conn = sqlite3.connect(database)
    conn.execute("PRAGMA journal_mode=WAL")
    conn.close()


def _commits(ops: list[Op], first: bytes, folder: Path) -> list[Commit]:
    """The states that were committed, in order."""
    disk, found = Disk(first, FILE), []
    disk.write(folder)
    found.append(Commit(-1, _read(folder / FILE)[0]))
    ends = False
    for place, op in enumerate(ops):
        disk.play([op])
        done, ends = _commits_with(op, after_head=ends), _is_last_head(op)
        if not done:
            continue
        disk.write(folder)
        state = _read(folder / FILE)[0]
        if state != found[-1].mark:
            found.append(Commit(_sure(ops, place), state))
    return found


def _sure(ops: list[Op], place: int) -> int:
    """The sync that SQLite waits for before it says that a commit is done."""
    waits = ("tie",) if ops[place].kind == "gone" else ("sync",)
    file = ops[place].file
    return next(
        (
            n
            for n in range(place + 1, len(ops))
            if ops[n].kind in waits and (ops[n].kind == "tie" or ops[n].file == file)
        ),
        len(ops),
    )


def _commits_with(op: Op, *, after_head: bool) -> bool:
    """The journal goes, or the page after the last frame head of a transaction is written."""
    return (op.kind == "gone" and op.file.endswith("-journal")) or (
        after_head and op.kind == "write"
    )


def _is_last_head(op: Op) -> bool:
    """A frame head that names the size of the database after its commit (SQLite's WAL format)."""
    head = op.kind == "write" and op.file.endswith("-wal") and len(op.data) == 24
    return head and op.data[4:8] != bytes(4)


def _read(database: Path) -> tuple[str, bool]:
    """A mark of all rows, and whether the file is sound; recovery happens here."""
    mark = hashlib.sha256()
    try:
        conn = sqlite3.connect(database)
        sound = conn.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
        for line in conn.iterdump():
            mark.update(line.encode())
        conn.close()
    except sqlite3.DatabaseError:
        return "", False
    return mark.hexdigest(), sound
