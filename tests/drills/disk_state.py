"""What a disk holds: what was synced for certain, and what is on its way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from typing import Self

from drills.recording import Op

SECTOR = 512


@dataclass(slots=True)
class Disk:
    """The files of one database.

    A file's writes are certain after its own sync; that it is there, or gone, is certain after
    the next sync of the folder, or of the file itself where it is new.
    """

    first: bytes
    name: str
    certain: dict[str, bytes] = field(default_factory=dict)
    """Content by the file's name; a name is here if the folder surely has it."""
    waiting: list[Op] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.certain.setdefault(self.name, self.first)

    def play(self, ops: Sequence[Op]) -> Self:
        """Take requests on, in order."""
        for op in ops:
            own = Path(op.file).name
            if op.kind == "sync":
                self._settle(lambda one, own=own: Path(one.file).name == own)
            elif op.kind == "tie":
                self._settle(lambda one: one.kind in {"make", "gone"})
            else:
                self.waiting.append(op)
        return self

    def cut(self, rng: Random) -> Self:
        """Let the power go: each request on its way came, came in part, or did not come."""
        names = [one for one in self.waiting if one.kind in {"make", "gone"}]
        kept = set(map(id, names[: rng.randint(0, len(names))]))  # a folder changes in order
        way = rng.choice(("all", "none", "some", "head"))
        writes = [one for one in self.waiting if one.kind not in {"make", "gone"}]
        head = rng.randint(0, len(writes))
        for number, one in enumerate(writes):
            here = {"all": True, "none": False, "some": rng.random() < 0.5, "head": number < head}
            if here[way]:
                kept.add(id(one))
        last = writes[head - 1] if way == "head" and head else None
        rest, self.waiting = self.waiting, []
        for one in rest:
            if id(one) in kept:
                self._apply(_torn(one, rng) if one is last else one)
        return self

    def write(self, folder: Path) -> None:
        """Put the files into a folder as they would be read now."""
        folder.mkdir(exist_ok=True)
        for old in folder.glob(f"{self.name}*"):
            old.unlink()
        now = Disk(self.first, self.name, dict(self.certain))
        for one in self.waiting:
            now._apply(one)
        for name, data in now.certain.items():
            (folder / name).write_bytes(data)

    def _settle(self, which: object) -> None:
        rest: list[Op] = []
        for one in self.waiting:
            if which(one):  # type: ignore[operator]
                self._apply(one)
            else:
                rest.append(one)
        self.waiting = rest

    def _apply(self, op: Op) -> None:
        own = Path(op.file).name
        if op.kind == "gone":
            self.certain.pop(own, None)
            return
        data = self.certain.get(own, b"")
        if op.kind == "write":
            data = data.ljust(op.offset, b"\0")
            data = data[: op.offset] + op.data + data[op.offset + len(op.data) :]
        elif op.kind == "cut":
            data = data[: op.offset].ljust(op.offset, b"\0")
        self.certain[own] = data


def _torn(op: Op, rng: Random) -> Op:
    """A write of which a part came: cut at a sector or a byte, or zeros from there on."""
    if op.kind != "write" or not op.data:
        return op
    at = rng.randrange(len(op.data))
    if rng.random() < 0.5:
        at -= at % SECTOR
    if rng.random() < 0.5:
        return Op("write", op.file, op.offset, op.data[:at])
    return Op("write", op.file, op.offset, op.data[:at] + bytes(len(op.data) - at))
