"""The chances that were said on all nights, against what came after each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.tables import load_table
from rootbound_service.replay.followed import stress_within
from rootbound_service.replay.reliability import brier, classes, skill_range

if TYPE_CHECKING:
    from numpy.random import Generator

    from rootbound_service.replay.reliability import Brier, Class
    from rootbound_service.replay.values import Played, TwinName

KINDS = (("drawing_down", "chance_14"), ("tight", "chance_7"))
"""Rows of the ladder's table, and where a night keeps the chance they are about."""


@dataclass(frozen=True, slots=True)
class Chances:
    """One kind of chance."""

    days: int
    """So far it looks ahead. [d]"""
    stress: float
    """So much it is about. [d]"""
    nights: int
    seasons: int
    with_event: int
    """Seasons in which it came after some night."""
    base: float
    """Share of all nights after which it came. [0-1]"""
    classes: tuple[Class, ...]
    brier: Brier
    skill: tuple[float, float] | None
    """95 % interval of the Brier skill."""


def chances_of(seasons: Sequence[tuple[Played, TwinName]], rng: Generator) -> tuple[Chances, ...]:
    """Hold every night's chances against what came.

    Parameters
    ----------
    seasons
        As played, each with the twin that is looked at.
    rng
        Draws seasons for the intervals.

    Returns
    -------
    tuple of Chances
        Of the coming 14 and 7 days; none without a night.
    """
    if not any(played.nights for played, _ in seasons):
        return ()
    return tuple(_chances(seasons, rng, row, name) for row, name in KINDS)


def _chances(
    seasons: Sequence[tuple[Played, TwinName]], rng: Generator, row: str, name: str
) -> Chances:
    """One kind; nights of one year count as one season, whatever the spade found."""
    table = load_table("ladder")
    days, stress = int(table.number(f"{row}.days")), table.number(f"{row}.stress")
    nights = [
        (
            getattr(night.twin(twin), name),
            stress_within(played.came(twin), night.night, days),
            played.year,
        )
        for played, twin in seasons
        for night in played.nights
    ]
    said = np.array([one[0] for one in nights], np.float64)
    came = np.array([one[1] >= stress for one in nights], np.float64)
    year = np.array([one[2] for one in nights], np.int64)
    return Chances(
        days,
        stress,
        len(nights),
        len(np.unique(year)),
        len(np.unique(year[came > 0.0])),
        float(came.mean()),
        classes(said, came, year, rng),
        brier(said, came),
        skill_range(said, came, year, rng),
    )
