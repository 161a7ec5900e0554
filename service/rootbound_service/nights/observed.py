"""What stands of a field's observations, day by day, as a night computes with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from rootbound_rules.season.belief import Report
from rootbound_service.records import ObservationRecord


@dataclass(frozen=True, slots=True)
class Observed:
    """What people measured and saw on one field in one season."""

    rain_mm: dict[date, float] = field(default_factory=dict[date, float])
    """One gauge reading a day: the one recorded last. [mm]"""
    irrigation_mm: dict[date, float] = field(default_factory=dict[date, float])
    """Water given by day. [mm]"""
    reports: tuple[Report, ...] = ()
    """Leaves rolled at noon or not, every report."""
    harvested: date | None = None
    """Day of the harvest, if it stands that there was one by then."""


def observed_of(observations: Sequence[ObservationRecord], through: date) -> Observed:
    """Bring a season's standing observations together.

    Parameters
    ----------
    observations
        Those that stand, in any order.
    through
        The last day that may count: a night's own day.

    Returns
    -------
    Observed
        Of two gauge readings of one day the one recorded later counts; both stay stored. Of
        irrigation the passes one person told of add up; where several people told of one
        day they most likely saw the same pass, and the largest sum counts. Our choice.
    """
    if not observations:
        return Observed()
    told = [one for one in observations if one.day <= through]
    harvests = [one.day for one in told if one.kind == "harvest"]
    reports = (Report(one.day, bool(one.value)) for one in told if one.kind == "rolled")
    return Observed(
        rain_mm=_latest(one for one in told if one.kind == "rain"),
        irrigation_mm=_given(one for one in told if one.kind == "irrigation"),
        reports=tuple(sorted(reports)),
        harvested=min(harvests, default=None),
    )


def _latest(readings: Iterable[ObservationRecord]) -> dict[date, float]:
    """The reading recorded last of each day."""
    found: dict[date, float] = {}
    for one in sorted(readings, key=lambda one: (one.recorded_at, one.id)):
        found[one.day] = float(one.value or 0.0)
    return found


def _given(passes: Iterable[ObservationRecord]) -> dict[date, float]:
    """The largest of the sums that people told of each day."""
    sums: dict[tuple[date, str], float] = defaultdict(float)
    for one in sorted(passes, key=lambda one: (one.recorded_at, one.id)):
        sums[one.day, one.by.casefold()] += float(one.value or 0.0)
    found: dict[date, float] = {}
    for (day, _), depth in sums.items():
        found[day] = max(found.get(day, 0.0), depth)
    return found
