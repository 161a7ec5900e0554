"""What the pictures are drawn from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.notes.facts import SeasonSeries


@dataclass(frozen=True, slots=True)
class Told:
    """A note that was sent."""

    night: date
    rung: int | None
    id: int


@dataclass(frozen=True, slots=True)
class Dug:
    """A dig."""

    day: date
    wall: int


@dataclass(frozen=True, slots=True)
class Seen:
    """What somebody saw or did, in words."""

    day: date
    kind: str
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """The season of one field."""

    name: str
    series: SeasonSeries
    stages: tuple[tuple[str, date], ...] = ()
    rungs: tuple[tuple[date, int | None], ...] = ()
    """By night; a night without a row was like the one before it."""
    notes: tuple[Told, ...] = ()
    digs: tuple[Dug, ...] = ()
    seen: tuple[Seen, ...] = ()
    past: tuple[tuple[int, SeasonSeries], ...] = ()
    """Earlier seasons of the field."""
    rated: bool = True
    """Whether a dig tells of the held roots; if not, free roots alone are drawn."""
