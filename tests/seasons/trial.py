"""The seasons as they were played, and what they come to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootbound_service.replay.contingency import BestThird, best_third
from rootbound_service.replay.detrend import anomalies, left_out_anomalies
from rootbound_service.replay.judge import Judged, judge
from rootbound_service.replay.runs import Asked, play_all, with_class
from rootbound_service.replay.skill import Skill, measure_skill
from rootbound_service.replay.values import Played, TwinName
from seasons.baselines import SEED, WET_MM
from seasons.field import CLASSES, LATE_DAYS, NAME, YEARS, YIELD_YEARS, field, weather, yields

Values = NDArray[np.float64]
AT_TREND = 0.0
"""A season at its trend or above is a good one."""


def play_trial(
    workers: int = 1,
    years: Sequence[int] = YEARS,
    classes: Sequence[int] = CLASSES,
    progress: Callable[[int, int], None] | None = None,
) -> list[Played]:
    """Play every year with every wall class.

    Parameters
    ----------
    workers
        Processes.
    years, classes
        Which.
    progress
        Told how many seasons are done, and of how many.
    """
    asked = [
        Asked(NAME, with_class(field(year), wall_class)) for wall_class in classes for year in years
    ]
    played: list[Played] = []
    for done, one in enumerate(play_all(asked, weather(), workers, late=LATE_DAYS), 1):
        played.append(one)
        if progress is not None:
            progress(done, len(asked))
    return played


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """Judged seasons by wall class and twin."""

    played: tuple[Played, ...]

    def judged(self, wall_class: int, twin: TwinName, years: Sequence[int]) -> list[Judged]:
        """Seasons of one wall class and twin, in the order of the years."""
        return [
            judge(one, twin)
            for one in self.played
            if one.wall_class == wall_class and one.year in years
        ]

    def free(self, years: Sequence[int]) -> list[Judged]:
        """Free roots: the class that crumbles, where both twins are one."""
        return self.judged(0, "free", years)


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """The figures by which a warning service stands or falls, free roots."""

    years: tuple[int, ...]
    share: Values
    """Anomaly of each year's yield as a share of its trend. [-]"""
    rain_mm: Values
    dry: Skill
    """Weighted stress against yield, seasons under 600 mm."""
    left_out: Skill
    """The same against trends that do not know the year."""
    best: BestThird
    leads: tuple[int, ...]
    """Days from the first word to running short, of every season that ran short. [d]"""
    without_word: tuple[int, ...]
    """Years that ran short without a word."""
    rises: tuple[int, ...]
    good_but_warned: tuple[int, ...]
    """Years at trend or above in which more than ``drawing down`` was shown."""


def figures(trial: Trial) -> Figures:
    """Work out the figures.

    Parameters
    ----------
    trial
        With wall class 0 of every year.
    """
    judged = trial.free(YIELD_YEARS)
    years, bushels = np.array(YIELD_YEARS), np.array(list(yields().by_year.values()))
    share, honest = anomalies(years, bushels).share, left_out_anomalies(years, bushels).share
    rain = np.array([one.rain_mm for one in trial.played if one.wall_class == 0])[: len(years)]
    score = np.array([one.weighted for one in judged])
    every = trial.free(YEARS)
    short = [one for one in every if one.ran_short]
    rng = np.random.default_rng(SEED)
    return Figures(
        years=YIELD_YEARS,
        share=share,
        rain_mm=rain,
        dry=measure_skill(score, share, rng, rain < WET_MM),
        left_out=measure_skill(score, honest, rng, rain < WET_MM),
        best=best_third(share, np.array([one.short_nights for one in judged])),
        leads=tuple(one.lead[0] for one in short if one.lead[0] is not None),
        without_word=tuple(one.year for one in short if one.lead[0] is None),
        rises=tuple(one.rises for one in every),
        good_but_warned=tuple(
            one.year
            for one, anomaly in zip(judged, share, strict=True)
            if anomaly >= AT_TREND and one.worst >= 2
        ),
    )
