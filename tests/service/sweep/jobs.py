"""Jobs for the tests: they go to other processes, so they stand in a module of their own."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from threading import Event

import numpy as np
import structlog


@dataclass(frozen=True)
class Waves:
    """Sums of sines: floats whose last bits would show another order of adding."""

    count: int
    seed: int = 7

    @property
    def fingerprint(self):
        return f"waves-{self.count}-{self.seed}"

    def compute(self, number):
        rng = np.random.default_rng([self.seed, number])
        days = rng.normal(size=(50, 200)).astype(np.float32)
        return {"sums": np.sin(days).sum(axis=1), "days": days[:3]}


@dataclass(frozen=True)
class Dies(Waves):
    """A worker that is killed the first time it meets one chunk."""

    mark: str = ""
    at: int = 5

    def compute(self, number):
        mark = Path(self.mark)
        if number == self.at and not mark.exists():
            mark.touch()
            os.kill(os.getpid(), 9)
        return super().compute(number)


@dataclass(frozen=True)
class AlwaysDies(Waves):
    """A chunk that no worker survives."""

    def compute(self, number):
        if number == 1:
            os.kill(os.getpid(), 9)
        return super().compute(number)


@dataclass(frozen=True)
class Fails(Waves):
    """A chunk that cannot be computed."""

    def compute(self, number):
        if number == 2:
            raise ZeroDivisionError("chunk 2 has no members")
        return super().compute(number)


@dataclass(frozen=True)
class Says(Waves):
    """A chunk of which the log tells."""

    def compute(self, number):
        structlog.get_logger(__name__).warning("chunk", number=number)
        return super().compute(number)


@dataclass(frozen=True)
class Hangs(Waves):
    """Says which process has a chunk, and never ends it."""

    folder: str = ""

    def compute(self, number):
        (Path(self.folder) / f"{os.getpid()}.has").touch()
        Event().wait(120)
        return {}
