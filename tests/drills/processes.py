"""Processes of the service under drill: started, listened to, killed."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock, Thread
from typing import Self

ROOT = Path(__file__).resolve().parents[2]
PATH = os.pathsep.join(str(ROOT / one) for one in ("rules", "service", "fixtures", "tests"))
LONGEST_S = 90.0
"""After so long something hangs. [s]"""
COMPILING_S = 600.0
"""The first start on a version of the rules compiles them. [s]"""
BREATH_S = 0.005


class Hangs(RuntimeError):
    """Something did not come within the longest time."""


@dataclass(slots=True)
class Running:
    """One process, and where it writes what it does."""

    pid: int
    log: Path
    code: int | None = None
    over: Event = field(default_factory=Event)

    @property
    def alive(self) -> bool:
        return not self.over.is_set()

    @property
    def text(self) -> str:
        """All it said so far."""
        return self.log.read_text(encoding="utf-8", errors="replace") if self.log.exists() else ""

    def wait_ready(self) -> None:
        """Wait until the service is open in it, or it has ended."""
        until(lambda: "ready\n" in self.text or not self.alive)

    def kill(self) -> bool:
        """End it at once, as the kernel does when memory is short; False if it had ended."""
        alive = self.alive
        self._signal(signal.SIGKILL)
        self.end()
        return alive and self.code == -signal.SIGKILL

    def sleep(self) -> None:
        """Stop it where it is."""
        self._signal(signal.SIGSTOP)

    def wake(self) -> None:
        """Let it go on."""
        self._signal(signal.SIGCONT)

    def stop(self) -> int:
        """Ask it to end, and wait for that."""
        self._signal(signal.SIGTERM)
        return self.end()

    def end(self) -> int:
        """Wait until it ends; its code."""
        if not self.over.wait(LONGEST_S):
            self._signal(signal.SIGUSR1)
            pause(0.5)
            self._signal(signal.SIGKILL)
            raise Hangs(f"a process did not end:\n{self.text[-4000:]}")
        return self.code or 0

    def _signal(self, number: int) -> None:
        if self.alive:
            os.kill(self.pid, number)


class Nursery:
    """Starts processes of the service, each forked from one that is warm; a context manager."""

    def __init__(self) -> None:
        self._logs = Path(tempfile.mkdtemp(prefix="rootbound-drills-"))
        self._children: dict[int, Running] = {}
        self._lock = Lock()
        self._answers: list[Running] = []
        self._born = Event()
        self._warm = Event()
        inherited = {k: v for k, v in os.environ.items() if not k.startswith("ROOTBOUND_")}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "drills.warm"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=inherited | {"PYTHONPATH": PATH, "PYTHONUNBUFFERED": "1"},
        )
        self._ear = Thread(target=self._hear, daemon=True)
        self._ear.start()

    def start(self, clock: Path, command: Sequence[str], env: Mapping[str, str]) -> Running:
        """Start a command of the service; it is not waited for."""
        if not self._warm.wait(COMPILING_S):
            raise Hangs("no process became warm")
        log = self._logs / f"{time.monotonic_ns()}.txt"
        order = {"argv": [str(clock), *command], "env": dict(env), "log": str(log)}
        pipe = self._process.stdin
        assert pipe
        with self._lock:
            self._born.clear()
            pipe.write(json.dumps(order) + "\n")
            pipe.flush()
            assert self._born.wait(LONGEST_S)
            born = self._answers.pop()
        born.log = log
        return born

    def close(self) -> None:
        """End whatever runs still."""
        for one in tuple(self._children.values()):
            one.kill()
        if self._process.stdin:
            self._process.stdin.close()
        self._process.wait()
        self._ear.join()
        shutil.rmtree(self._logs, ignore_errors=True)
        if self._process.stdout:
            self._process.stdout.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _hear(self) -> None:
        assert self._process.stdout
        for line in self._process.stdout:
            words = line.split()
            if words == ["warm"]:
                self._warm.set()
            elif len(words) == 1:
                child = Running(int(words[0]), Path())
                self._children[child.pid] = child
                self._answers.append(child)
                self._born.set()
            else:
                gone = self._children.pop(int(words[0]))
                gone.code = int(words[1])
                gone.over.set()


def until(true: Callable[[], bool], longest_s: float = LONGEST_S) -> None:
    """Wait until something is so."""
    begun, never = time.monotonic(), Event()
    while not true():
        if time.monotonic() - begun > longest_s:
            raise Hangs(f"{true} did not come within {longest_s:.0f} s")
        never.wait(BREATH_S)


def pause(seconds: float) -> None:
    """Let a moment pass."""
    Event().wait(seconds)
