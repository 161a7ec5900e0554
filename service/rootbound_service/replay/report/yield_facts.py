"""How much the computed stress tells of the yields, beside what anybody could know without it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from rootbound_rules.risk.exposure import CROP
from rootbound_service.errors import RefusedInput
from rootbound_service.replay.baselines import bucket, dry_july, dry_season, spei_3
from rootbound_service.replay.skill import Skill, gain, measure_skill

if TYPE_CHECKING:
    from numpy.random import Generator

    from rootbound_service.replay.harvests import Harvests
    from rootbound_service.replay.report.facts import About
    from rootbound_service.replay.skill import Range
    from rootbound_service.replay.views import View

Values = NDArray[np.float64]
WET_MM = 600.0
"""May-August rain above which yield is lost for other reasons than drought. Our choice. [mm]"""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """One way to score seasons, and what it is worth."""

    name: str
    score: Values | None
    """One a year, higher is worse; None where it could not be computed."""
    whole: Skill
    """All seasons with a yield."""
    dry: Skill
    """Those that were not wet."""
    left_out: float | None
    """Skill of predicting a season that was not wet by the others, trend included. [-]"""
    gains: tuple[tuple[str, Range | None], ...] = ()
    """Over each plain way, on the seasons that were not wet."""
    why_not: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class YieldFacts:
    """What the yields of some seasons say of their scores."""

    harvests: Harvests
    years: tuple[int, ...]
    share: Values
    """Anomaly as a share of the trend, by year. [-]"""
    wet: NDArray[np.bool_]
    ours: tuple[Way, ...]
    """One for each view, weighted stress as it came."""
    plain: tuple[Way, ...]


def yield_facts(views: Sequence[View], about: About, rng: Generator) -> YieldFacts | None:
    """Compare every view and every plain way with the yields.

    Parameters
    ----------
    views
        What was played.
    about
        With harvests.
    rng
        Draws years for the intervals.

    Returns
    -------
    YieldFacts or None
        None without harvests.
    """
    harvests = about.harvests
    if harvests is None:
        return None
    years = sorted({one.year for view in views for one in view.judged})
    years = [year for year in years if harvests.share(year) is not None]
    take = np.isin(harvests.all_years.years, years)
    share = harvests.all_years.share[take]
    honest = None if harvests.others is None else harvests.others.share[take]
    rain = {played.year: played.rain_mm for view in views for played, _ in view.seasons}
    wet = np.array([rain[year] > WET_MM for year in years])

    def way(name: str, score: Values) -> Way:
        left = None if honest is None else measure_skill(score, honest, rng, ~wet).left_out
        whole, dry = measure_skill(score, share, rng), measure_skill(score, share, rng, ~wet)
        return Way(name, score, whole, dry, left)

    plain = tuple(_plain(views, about, years, way)) if about.baselines else ()
    ours: list[Way] = []
    for view in views:
        one = way(_name(view, views), score_of(view, years))
        ours.append(_with_gains(one, plain, share, ~wet, rng))
    return YieldFacts(harvests, tuple(years), share, wet, tuple(ours), plain)


def score_of(view: View, years: Sequence[int]) -> Values:
    """Weighted stress of a view's seasons, NaN where a year was not played. [%]

    Parameters
    ----------
    view
        The view; crops without a published loss are scored by their stress days alone.
    years
        Wanted.
    """
    found = {one.year: one for one in view.judged}
    scores = {
        year: one.stress if np.isnan(one.weighted) else one.weighted for year, one in found.items()
    }
    return np.array([scores.get(year, np.nan) for year in years], np.float64)


def _name(view: View, views: Sequence[View]) -> str:
    """What is scored, with the field where there are several."""
    several = len({one.field for one in views}) > 1
    return f"{view.field}, {view.roots}" if several else view.roots


def _plain(
    views: Sequence[View], about: About, years: Sequence[int], way: Callable[[str, Values], Way]
) -> list[Way]:
    """Score the seasons by rain, a climate index and a bucket; what fails says why."""
    place, weather = about.place, about.weather
    if weather is None:
        return []
    first = {one.year: played.season.planted for played, one in views[0].seasons}
    planted = {year: first[year] for year in years if year in first}

    def by_bucket() -> Values:
        found = bucket(place, weather, planted)
        return np.array([found.get(year, np.nan) for year in years], np.float64)

    ways: dict[str, Callable[[], Values]] = {
        "July rain": lambda: dry_july(weather, years),
        "May-August rain": lambda: dry_season(weather, years),
        "SPEI of June-August": lambda: spei_3(weather, years, place.lat, place.elevation_m),
    }
    if place.crop == CROP:
        ways["plain bucket"] = by_bucket
    found: list[Way] = []
    for name, score in ways.items():
        try:
            found.append(way(name, score()))
        except RefusedInput as refused:
            nothing = Skill(0)
            found.append(Way(name, None, nothing, nothing, None, why_not=str(refused)))
    return found


def _with_gains(
    ours: Way, plain: Sequence[Way], share: Values, dry: NDArray[np.bool_], rng: Generator
) -> Way:
    """Add by how much a score's correlation is better than each plain way's."""
    score = ours.score
    if score is None:
        return ours
    gains: list[tuple[str, Range | None]] = []
    for other in plain:
        if other.score is None:
            continue
        mask = dry & np.isfinite(score) & np.isfinite(other.score)
        enough = ours.dry.pearson is not None
        found = gain(score[mask], other.score[mask], share[mask], rng) if enough else None
        gains.append((other.name, found))
    return Way(ours.name, score, ours.whole, ours.dry, ours.left_out, tuple(gains))
