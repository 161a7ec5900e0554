"""Stations with servers and a line before them, driven by events in the order of their time."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

MOST_POINTS = 1_000
Then = Callable[[], None]
Lasting = Callable[[], float]


class Events:
    """What happens when; two things of one moment in the order in which they were planned."""

    def __init__(self) -> None:
        self.now = 0.0
        self._planned: list[tuple[float, int, Then]] = []
        self._count = 0

    def at(self, moment: float, then: Then) -> None:
        """Plan something; what lies in the past happens at once.

        Parameters
        ----------
        moment
            When. [s]
        then
            What.
        """
        heapq.heappush(self._planned, (max(moment, self.now), self._count, then))
        self._count += 1

    def run(self) -> None:
        """Let everything happen that was planned or is planned on the way."""
        while self._planned:
            self.now, _, then = heapq.heappop(self._planned)
            then()


@dataclass(slots=True)
class Watched:
    """What was seen at a station."""

    arrived: int = 0
    done: int = 0
    lost: int = 0
    """Pieces of work that a lost server had to give back."""
    busy_s: float = 0.0
    """Servers' time at work, that of lost work too. [s]"""
    stay_s: float = 0.0
    """Sum of the times from arrival to end. [s]"""
    wait_s: float = 0.0
    """Sum of the times from arrival to the last begin. [s]"""
    inside_s: float = 0.0
    """Number inside, integrated over time. [s]"""
    longest: int = 0
    """Line, without those served."""
    first: float = 0.0
    last: float = 0.0
    line: list[tuple[float, int]] = field(default_factory=list[tuple[float, int]])
    """Length of the line after each change, thinned out."""


class Station:
    """Servers that take work from one line, first come, first served.

    Parameters
    ----------
    events
        The clock.
    servers
        How many.
    lasting
        How long the next piece of work takes. [s]
    life
        How long a server lives from the begin of a piece; None: for ever. [s]
    back_s
        From a server's loss to its return. [s]
    """

    def __init__(
        self,
        events: Events,
        servers: int,
        lasting: Lasting,
        life: Lasting | None = None,
        back_s: float = 0.0,
    ) -> None:
        self.watched = Watched()
        self._events, self._lasting, self._life, self._back_s = events, lasting, life, back_s
        self._free, self._inside, self._seen = servers, 0, 0.0
        self._line: deque[tuple[float, Then]] = deque()

    def arrive(self, then: Then) -> None:
        """Take a piece of work.

        Parameters
        ----------
        then
            What happens when it is done.
        """
        self._count(+1)
        if self.watched.arrived == 0:
            self.watched.first = self._events.now
        self.watched.arrived += 1
        self._line.append((self._events.now, then))
        self._begin()

    def _begin(self) -> None:
        """Give free servers work."""
        while self._free and self._line:
            self._free -= 1
            came, then = self._line.popleft()
            self._serve(came, then)
        self.watched.longest = max(self.watched.longest, len(self._line))
        self._note()

    def _serve(self, came: float, then: Then) -> None:
        """Serve one, or lose its server on the way."""
        began, takes = self._events.now, self._lasting()
        lives = takes if self._life is None else self._life()
        if lives < takes:
            self.watched.busy_s += lives
            self._events.at(began + lives, lambda: self._lose(came, then))
            return
        self.watched.busy_s += takes
        self.watched.wait_s += began - came
        self._events.at(began + takes, lambda: self._end(came, then))

    def _end(self, came: float, then: Then) -> None:
        self._count(-1)
        self.watched.done += 1
        self.watched.stay_s += self._events.now - came
        self.watched.last = self._events.now
        self._free += 1
        self._begin()
        then()

    def _lose(self, came: float, then: Then) -> None:
        """Put the work of a lost server at the head of the line; the server comes back later."""
        self.watched.lost += 1
        self._line.appendleft((came, then))
        self._events.at(self._events.now + self._back_s, self._return)
        self._begin()

    def _return(self) -> None:
        self._free += 1
        self._begin()

    def _count(self, change: int) -> None:
        """Keep how many were inside for how long."""
        self.watched.inside_s += self._inside * (self._events.now - self._seen)
        self._inside += change
        self._seen = self._events.now

    def _note(self) -> None:
        """Keep the line's length; every other point goes when there are many."""
        line = self.watched.line
        line.append((self._events.now, len(self._line)))
        if len(line) > MOST_POINTS:
            del line[1::2]
