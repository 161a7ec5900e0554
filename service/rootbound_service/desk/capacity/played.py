"""What may go wrong in a simulated night, and the night as it went."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.desk.capacity.queue import Watched


@dataclass(frozen=True, slots=True)
class Chance:
    """What goes wrong and how much speeds differ."""

    lost_per_hour: float = 0.02
    """Workers lost an hour and worker."""
    back_s: float = 60.0
    """Until a lost worker is there again. [s]"""
    spread: float = 0.2
    """Of the workers' and services' times, as a standard deviation of their logarithm."""
    failing: float = 0.01
    """Requests that have to be made again."""
    drought: tuple[int, ...] = ()
    """Nights of a bad spell, from 1."""


@dataclass(frozen=True, slots=True)
class Played:
    """One night as it went; times from its start."""

    night: int
    pulled_s: float
    stored_s: float
    """Until the last risk row is stored. [s]"""
    written_s: float
    """Until the last letter is in the outbox. [s]"""
    out_s: float
    """Until the last letter and text is out. [s]"""
    letters: int
    texts: int
    stations: dict[str, Watched]
    each: dict[str, float]
    """How many things an event of a station stands for."""

    def longest(self, name: str) -> int:
        """Give the longest line before a station, in things, not events.

        Parameters
        ----------
        name
            Of the station.
        """
        return round(self.stations[name].longest * self.each.get(name, 1.0))

    @property
    def narrowest(self) -> str:
        """The part of the night, up to the last letter written, that took longest."""
        parts = {
            "pulls": self.pulled_s,
            "chunks and rows": self.stored_s - self.pulled_s,
            "letters written": self.written_s - self.stored_s,
            "letters and texts sent": self.out_s - self.sending_from_s,
        }
        longest = max(parts, key=lambda name: parts[name])
        if longest != "chunks and rows":
            return longest
        chunks, rows = self.stations["chunks"], self.stations["rows"]
        return "rows" if rows.wait_s > chunks.wait_s else "chunks"

    @property
    def sending_from_s(self) -> float:
        """When the first could go. [s]"""
        sending = [self.stations[name] for name in ("mail", "texts")]
        return min((one.first for one in sending if one.arrived), default=self.out_s)
