"""Everything the report tells, as values: worked out once, for the page and the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rootbound_service.replay.followed import followed
from rootbound_service.replay.headline import headline
from rootbound_service.replay.report.chance_facts import chances_of
from rootbound_service.replay.report.warned_facts import warned_of
from rootbound_service.replay.report.yield_facts import yield_facts
from rootbound_service.replay.views import add_up, told, views

if TYPE_CHECKING:
    from rootbound_rules.season.values import DailyWeather, FieldSeason
    from rootbound_service.records import Units
    from rootbound_service.replay.followed import Followed
    from rootbound_service.replay.harvests import Harvests
    from rootbound_service.replay.report.chance_facts import Chances
    from rootbound_service.replay.report.warned_facts import Warned
    from rootbound_service.replay.report.yield_facts import YieldFacts
    from rootbound_service.replay.values import Played, TwinName
    from rootbound_service.replay.views import Sum, View

SEED = 1
"""Of the draws of seasons behind intervals: the same report from the same seasons."""


@dataclass(frozen=True, slots=True, eq=False)
class About:
    """What was played, beside the seasons themselves."""

    weather: DailyWeather | None
    """Of the place; None where every field has its own."""
    place: FieldSeason
    """The first field: its place, crop and soil."""
    remarks: tuple[str, ...] = ()
    harvests: Harvests | None = None
    baselines: bool = True
    units: Units = "metric"
    classes: bool = False
    """Whether wall classes were asked for, instead of the fields' own digs."""
    forecast: bool = False
    """Whether nights knew forecasts."""
    late: int = 0
    """Days by which measured weather reached a night late."""
    stored: bool = False
    """Whether it was played from the service's own store."""


@dataclass(frozen=True, slots=True, eq=False)
class Facts:
    """What the report tells."""

    about: About
    views: tuple[View, ...]
    told: tuple[View, ...]
    """Those that people are told of."""
    sums: tuple[Sum, ...]
    """One for each view."""
    headline: tuple[str, ...]
    followed: tuple[Followed, ...]
    """By rung, over the views that are told."""
    warned: tuple[Warned, ...]
    chances: tuple[Chances, ...]
    yields: YieldFacts | None


def facts_of(played: Sequence[Played], about: About) -> Facts:
    """Work out what the report tells.

    Parameters
    ----------
    played
        The seasons.
    about
        What was played.
    """
    found = views(played)
    shown, rng = told(found), np.random.default_rng(SEED)
    pairs: list[tuple[Played, TwinName]] = [
        (one, view.twin) for view in shown for one, _ in view.seasons
    ]
    return Facts(
        about,
        found,
        shown,
        tuple(add_up(view) for view in found),
        tuple(headline(found)),
        followed(pairs),
        warned_of(found, about.harvests),
        chances_of(pairs, rng),
        yield_facts(found, about, rng) if about.harvests is not None else None,
    )
