"""What a rung meant: how often the stress it speaks of came after it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from rootbound_rules.tables import load_table
from rootbound_service.replay.judge import RUNGS

if TYPE_CHECKING:
    from rootbound_service.replay.values import Came, Played, TwinName

WITHIN_DAYS = 21
"""After a night: the length of the ladder's longest look ahead, and a week. Our choice. [d]"""


@dataclass(frozen=True, slots=True)
class Followed:
    """Nights on a rung and rises to it, and how many of them were followed by stress."""

    rung: int
    nights: int
    nights_followed: int
    rises: int
    rises_followed: int
    seasons: int
    """In which the rung was reached."""


def stress_within(came: Came, night: date, days: int) -> float:
    """Stress-day equivalents of a night's own day and those after it, as they came. [d]

    Parameters
    ----------
    came
        What came of one twin.
    night
        The first day.
    days
        How many. [d]
    """
    ahead = (night + timedelta(days=k) for k in range(days))
    return float(sum(came.stress.get(day, 0.0) for day in ahead))


def followed(seasons: Iterable[tuple[Played, TwinName]]) -> tuple[Followed, ...]:
    """Count for each rung what came within three weeks: stress that counts as running short.

    Parameters
    ----------
    seasons
        As played, each with the twin that is looked at.

    Returns
    -------
    tuple of Followed
        For the rungs 0 to 4; rises are to the rung or above it from below, none to 0.
    """
    mark = load_table("ladder").number("onset_days")
    counts = {rung: [0, 0, 0, 0, 0] for rung in (0, *RUNGS)}
    for played, twin in seasons:
        rungs = [night.twin(twin).rung for night in played.nights]
        came = played.came(twin)
        ran = [stress_within(came, night.night, WITHIN_DAYS) > mark for night in played.nights]
        for rung, yes in zip(rungs, ran, strict=True):
            counts[rung][0] += 1
            counts[rung][1] += yes
        for (before, now), yes in zip(pairwise([0, *rungs]), ran, strict=True):
            for rung in range(before + 1, now + 1):
                counts[rung][2] += 1
                counts[rung][3] += yes
        for rung in RUNGS:
            counts[rung][4] += max(rungs, default=0) >= rung
    return tuple(Followed(rung, *numbers) for rung, numbers in counts.items())
