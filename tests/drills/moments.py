"""Moments that fall into a night: drawn in its measured span, counted from what the process says.

Half of them anywhere in the night, half while it is written down: that takes so little of a night
that moments drawn over the whole hardly ever meet it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from random import Random

from drills.child import BEGUN, COMPUTED, OVER
from drills.processes import Running, pause, until


@dataclass(frozen=True, slots=True)
class Span:
    """How long a night took that nothing disturbed. [s]"""

    whole: float
    written: float
    """The last part of it, in which it is written down. [s]"""

    def __str__(self) -> str:
        return f"a night takes {self.whole:.2f} s, the last {self.written:.2f} s to be written"

    def moment(self, rng: Random, number: int) -> Moment:
        """Draw one."""
        if number % 2:
            return Moment(COMPUTED, rng.uniform(0, self.written))
        return Moment(BEGUN, rng.uniform(0, self.whole))


@dataclass(frozen=True, slots=True)
class Moment:
    """So many seconds after a process said something."""

    after: str
    seconds: float

    def wait(self, running: Running) -> None:
        """Wait until it comes, or the process ends before."""
        until(lambda: self.after in running.text or not running.alive)
        pause(self.seconds)

    def __str__(self) -> str:
        return f'{self.seconds * 1000:.0f} ms after "{self.after}"'


def span_of(text: str) -> Span:
    """Read it from what a process said of its night, each line with the time. [s]"""
    over = said_at(text, OVER)[-1]
    begun, computed = (max(t for t in said_at(text, one) if t < over) for one in (BEGUN, COMPUTED))
    return Span(over - begun, over - computed)


def last_span(text: str, before: Span) -> Span:
    """Follow the machine, now slower and now faster; as before where no whole night is told of."""
    return span_of(text) if said_at(text, OVER) else before


def said_at(text: str, what: str) -> list[float]:
    """When a process said something, by the machine's own clock. [s]"""
    return [float(one) for one in re.findall(rf"^{what} ([\d.]+)\n", text, re.MULTILINE)]
