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
from pathlib import Path
from random import Random

from drills.disk_state import Disk
from drills.held import Tally, held_by
from drills.kills import quiet_run
from drills.recording import Op, record
from drills.rest import morning, run_night
from drills.world import World

FILE = "rootbound.db"
EVERY = 100
"""From every so-many-th state the service itself is started."""


def rollback(world: World, times: int, seed: int = 7) -> Tally:
    """With a rollback journal, as on a SQLite whose log is not safe."""
    return _power(world, times, Tally("power, journal"), Random(seed), {})


def ahead(world: World, times: int, seed: int = 8) -> Tally:
    """With a write-ahead log."""
    return _power(world, times, Tally("power, WAL"), Random(seed), {"DRILL_WAL": "1"})


def _power(world: World, times: int, tally: Tally, rng: Random, how: dict[str, str]) -> Tally:
    begun = time.monotonic()
    quiet, _ = quiet_run(world)
    with world.place() as place:
        base = place.folder / FILE
        if how:
            _in_wal(base)
        first = base.read_bytes()
        ops = record(place, base, ("nightly",), **how)
        commits = _commits(ops, first, place.folder / "cut")
        for number in range(times):
            at = rng.randrange(len(ops) + 1)
            confirmed = max((n for n, (op, _) in enumerate(commits) if op < at), default=0)
            folder = place.folder / "cut"
            Disk(first, FILE).play(ops[:at]).cut(rng).write(folder)
            state, sound = _read(folder / FILE)
            name = f"{number}, after {at} of {len(ops)} requests"
            known = [one for _, one in commits]
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
            tally.hit += at < len(ops)
            if number % EVERY == 0:  # and the service itself starts from it
                _start_from(world, place, folder / FILE, tally, name, quiet)
    tally.seconds = time.monotonic() - begun
    return tally


def _start_from(world, place, database: Path, tally: Tally, name: str, quiet) -> None:
    with world.place(place) as cut:
        for old in cut.folder.glob(f"{FILE}*"):
            old.unlink()
        for new in database.parent.glob(f"{FILE}*"):
            (cut.folder / new.name).write_bytes(new.read_bytes())
        run_night(cut)
        morning(cut)
        own = Tally(tally.drill)
        own.take(name, held_by(cut), quiet, hit=True)
        tally.wrong += own.wrong
        tally.doubled += own.doubled


def _in_wal(database: Path) -> None:
    conn = sqlite3.connect(database)
    conn.execute("PRAGMA journal_mode=WAL")
    conn.close()


def _commits(ops: list[Op], first: bytes, folder: Path) -> list[tuple[int, str]]:
    """The states that were committed, in order: after which request each was, and its mark."""
    disk, found = Disk(first, FILE), []
    disk.write(folder)
    found.append((-1, _read(folder / FILE)[0]))
    ends = False
    for place, op in enumerate(ops):
        disk.play([op])
        done, ends = _commits_with(op, after_head=ends), _is_last_head(op)
        if not done:
            continue
        disk.write(folder)
        state = _read(folder / FILE)[0]
        if state != found[-1][1]:
            found.append((place, state))
    return found


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
