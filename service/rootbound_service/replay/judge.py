"""Hold what was said in a season played again against what came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rootbound_service.replay.values import Night, Played, TwinName

RUNGS = (1, 2, 3, 4)
SHORT = 3


@dataclass(frozen=True, slots=True)
class Judged:
    """One twin of one season."""

    year: int
    field: str
    wall_class: int | None
    twin: TwinName
    first: tuple[date | None, ...]
    """First night on each rung from 1 to 4, or above it; None: never."""
    onset: date | None
    lead: tuple[int | None, ...]
    """Days from that first night to the onset, by rung; None where one of them did not come."""
    rises: int
    """Nights on which the rung rose."""
    notes: int
    short_nights: int
    """Nights on ``short`` or above."""
    worst: int
    stress: float
    """Stress-day equivalents of the season, as it came. [d]"""
    weighted: float
    """The same times the published mean loss a stress day. [%]"""

    @property
    def ran_short(self) -> bool:
        """Whether the season's stress passed the mark."""
        return self.onset is not None

    def reached(self, rung: int) -> bool:
        """Tell whether the field ever stood on a rung or above it."""
        return self.first[rung - 1] is not None


def judge(played: Played, twin: TwinName) -> Judged:
    """Judge one twin.

    Parameters
    ----------
    played
        The season.
    twin
        Whose rung is looked at, every night as if it were the one that is told.
    """
    nights, came = played.nights, played.came(twin)
    rungs = [night.twin(twin).rung for night in nights]
    first = tuple(_first(nights, twin, rung) for rung in RUNGS)
    return Judged(
        year=played.year,
        field=played.field,
        wall_class=played.wall_class,
        twin=twin,
        first=first,
        onset=came.onset,
        lead=tuple(_lead(night, came.onset) for night in first),
        rises=sum(now > before for before, now in pairwise([0, *rungs])),
        notes=sum(night.twin(twin).note is not None for night in nights),
        short_nights=sum(rung >= SHORT for rung in rungs),
        worst=max(rungs, default=0),
        stress=came.total,
        weighted=came.weighted,
    )


def _first(nights: tuple[Night, ...], twin: TwinName, rung: int) -> date | None:
    """First night on a rung or above it."""
    return next((one.night for one in nights if one.twin(twin).rung >= rung), None)


def _lead(night: date | None, onset: date | None) -> int | None:
    """Days from a night to the onset; negative where the night came after it."""
    return None if night is None or onset is None else (onset - night).days
