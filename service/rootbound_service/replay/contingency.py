"""Warned or not, and did it come: hits, misses, false alarms and quiet rights of seasons."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootbound_service.errors import Problem, RefusedInput

Values = NDArray[np.float64]
Mask = NDArray[np.bool_]
FEWEST_EVENTS = 5
TOO_FEW = "too few to say"
UNDER_TREND = 0.10
"""A yield this far under its trend counts as a bad season. Our choice. [share]"""
ALARM_NIGHTS = 7
"""Nights on a rung that make a season one of alarm. Our choice. [d]"""


@dataclass(frozen=True, slots=True)
class Seasons:
    """Seasons by what was warned and what came."""

    hits: int
    misses: int
    false_alarms: int
    quiet: int
    """Neither warned nor come."""

    @property
    def events(self) -> int:
        """Seasons in which it came."""
        return self.hits + self.misses

    @property
    def enough(self) -> bool:
        """Whether five seasons or more had it, and five or more did not."""
        return min(self.events, self.false_alarms + self.quiet) >= FEWEST_EVENTS

    @property
    def detected(self) -> float | None:
        """Probability of detection: share of the events that were warned of. [0-1]"""
        return _share(self.hits, self.events)

    @property
    def false_alarm_ratio(self) -> float | None:
        """Share of the warnings after which it did not come. [0-1]"""
        return _share(self.false_alarms, self.hits + self.false_alarms)

    @property
    def false_alarm_rate(self) -> float | None:
        """Share of the seasons without it that were warned nevertheless. [0-1]"""
        return _share(self.false_alarms, self.false_alarms + self.quiet)

    @property
    def peirce(self) -> float | None:
        """Peirce skill score: detection minus false alarm rate. 1 perfect, 0 blind. [-]"""
        if self.detected is None or self.false_alarm_rate is None:
            return None
        return self.detected - self.false_alarm_rate

    def said(self) -> str:
        """The scores in words, or that there is too little to say."""
        if not self.enough:
            rest = self.false_alarms + self.quiet
            return f"{TOO_FEW}: {self.events} seasons had it, {rest} did not"
        return (
            f"detected {_percent(self.detected)}, false alarms {_percent(self.false_alarm_ratio)}"
            f" of the warnings, Peirce score {self.peirce:.2f}"
        )


def tally(warned: Mask, came: Mask) -> Seasons:
    """Count seasons by warning and event.

    Parameters
    ----------
    warned
        Whether each season was warned.
    came
        Whether it came.

    Raises
    ------
    RefusedInput
        If the arrays differ in length.

    References
    ----------
    Wilks, Statistical Methods in the Atmospheric Sciences, on 2 x 2 tables; Peirce 1884.
    """
    if len(warned) != len(came):
        what = f"{len(warned)} seasons of warnings stand beside {len(came)} of events"
        raise RefusedInput((Problem("seasons", what, "give both for the same seasons"),))
    return Seasons(
        int((warned & came).sum()),
        int((~warned & came).sum()),
        int((warned & ~came).sum()),
        int((~warned & ~came).sum()),
    )


def share_range(count: int, cases: int) -> tuple[float, float] | None:
    """Wilson's 95 % interval of a share, None without cases. [0-1]"""
    from scipy.stats import binomtest

    if not cases:
        return None
    found = binomtest(count, cases).proportion_ci(0.95, method="wilson")
    return float(found.low), float(found.high)


def bad_seasons(share: Values, under: float = UNDER_TREND) -> Mask:
    """Mark seasons whose yield lay more than a share under its trend.

    Parameters
    ----------
    share
        Anomaly of each season as a share of its trend. [-]
    under
        How far. [-]
    """
    return np.asarray(share < -under)


@dataclass(frozen=True, slots=True)
class BestThird:
    """Alarm in the seasons that needed none."""

    seasons: int
    alarmed: int
    share: float | None
    """Of the best seasons that were alarmed. [0-1]"""


def best_third(share: Values, nights: NDArray[np.int64], least: int = ALARM_NIGHTS) -> BestThird:
    """Count alarms among the third of the seasons with the best yields.

    Parameters
    ----------
    share
        Anomaly of each season as a share of its trend. [-]
    nights
        Nights of each season on the rung in question or above. [d]
    least
        Nights that make it an alarm. [d]

    Raises
    ------
    RefusedInput
        If the arrays differ in length.
    """
    if len(share) != len(nights):
        what = f"{len(nights)} seasons of nights stand beside {len(share)} of yields"
        raise RefusedInput((Problem("seasons", what, "give both for the same seasons"),))
    best = np.argsort(-share, kind="stable")[: len(share) // 3]
    alarmed = int((nights[best] >= least).sum())
    return BestThird(len(best), alarmed, _share(alarmed, len(best)))


def _share(count: int, cases: int) -> float | None:
    """Return a share, None where there is nothing to share."""
    return count / cases if cases else None


def _percent(share: float | None) -> str:
    """Write a share in per cent."""
    return "none" if share is None else f"{share:.0%}"
