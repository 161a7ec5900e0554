"""What may be said of a field's days to come, from its outlook."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.exposure import exposure
from rootbound_rules.risk.more_plants import more_plants
from rootbound_rules.risk.stress import MIDDLE_80, quantiles
from rootbound_service.nights.holding import held_by
from rootbound_service.notes.facts import FieldFacts, Forecasted, Reach, Spell

if TYPE_CHECKING:
    from rootbound_rules.risk.exposure import Exposure, Stress
    from rootbound_rules.risk.more_plants import MorePlants
    from rootbound_rules.risk.prospects import Prospects, Span
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.parts import Computed, Decided

REACH_AHEAD = timedelta(days=14)


def with_ahead(facts: FieldFacts, decided: Decided) -> FieldFacts:
    """Add the days to come to a field's facts.

    Parameters
    ----------
    facts
        What is known of the field tonight.
    decided
        Its night.

    Returns
    -------
    FieldFacts
        Without an outlook, as they were.
    """
    computed = decided.computed
    outlook, assessment = computed.outlook, computed.assessment
    if outlook is None or assessment is None or computed.status not in {"watched", "unrated"}:
        return facts
    ahead, night, watched = assessment.prospects, facts.night, computed.status == "watched"
    held, rungs = (ahead.held_onset, ahead.held_rungs) if watched else _free(ahead)
    return replace(
        facts,
        held_short=_spell(held),
        free_short=_spell(ahead.free_onset),
        chance_short=ahead.held_chance if watched else ahead.free_chance,
        rung_chances=rungs,
        rain_to_hold=held_by(outlook, facts.rung, night) if watched else None,
        water_to_hold=held_by(outlook, facts.rung, night, water=True)
        if watched and computed.field.irrigated
        else None,
        reach_later=_reach(outlook, night) if watched else None,
        forecast=_forecast(computed),
        more_plants=_more(computed, outlook, night) if watched and decided.note else None,
        exposure=_exposure(ahead, facts.crop) if watched else None,
        belief=computed.belief.told() if computed.belief else None,
        gauge_days=len(computed.observed.rain_mm) if computed.observed else 0,
        watered_days=len(computed.observed.irrigation_mm) if computed.observed else 0,
    )


def _free(ahead: Prospects) -> tuple[Span | None, tuple[float, ...]]:
    return ahead.free_onset, ahead.free_rungs


def _spell(span: Span | None) -> Spell | None:
    """A day with its range, in the letters' shape."""
    return None if span is None else Spell(span.middle, span.first, span.last)


def _reach(outlook: Outlook, night: date) -> Reach | None:
    """Reach of the held roots in two weeks."""
    day = night + REACH_AHEAD
    index = outlook.day(day)
    if not 0 <= index < len(outlook.reach):
        return None
    low, middle, high = quantiles(outlook.reach[index].astype(np.float64), MIDDLE_80)
    return Reach(day, float(low), float(middle), float(high))


def _forecast(computed: Computed) -> Forecasted | None:
    """Whose forecast the outlook begins with."""
    coming = computed.cell.coming if computed.cell else None
    return None if coming is None else Forecasted(coming.title, coming.issued, coming.through)


def _more(computed: Computed, outlook: Outlook, night: date) -> MorePlants | None:
    """Whether more plants would make the dig surer where it matters."""
    if computed.season is None:
        return None
    try:
        return more_plants(outlook, computed.season, night)
    except RulesError:
        return None


def _exposure(ahead: Prospects, crop: str) -> Exposure | None:
    """Published losses for the stress days that have been."""
    stages: list[tuple[str, Stress]] = [(one.stage, one.held_past) for one in ahead.stages]
    return exposure(stages, crop)
