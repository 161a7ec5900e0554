"""What a field's card tells of the days to come, kept in its row's ``detail``.

It is no part of a decision: a note's evidence neither holds it nor needs it.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.more_plants import more_plants
from rootbound_rules.risk.stress import MIDDLE_80, quantiles
from rootbound_service.nights.holding import held_by, told_hold
from rootbound_service.nights.pictures import packed_picture

if TYPE_CHECKING:
    from datetime import date

    from rootbound_rules.risk.assess import Assessment
    from rootbound_rules.risk.prospects import Span
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.parts import Computed, Decided
    from rootbound_service.records import RiskRecord

AHEAD = "ahead"
"""Name in ``detail``."""
REACH_AHEAD = timedelta(days=14)
DIGITS = 4
LOOKED_AT = (2, 5, 6, 8)
"""Collars that open and close the windows for a first and a second dig."""


def with_shown(decided: Decided) -> Decided:
    """Add to a decided field's row what its card tells of the days to come.

    Parameters
    ----------
    decided
        The field's night.

    Returns
    -------
    Decided
        As it was where there is no outlook.
    """
    computed, row = decided.computed, decided.risk
    outlook, assessment = computed.outlook, computed.assessment
    if outlook is None or assessment is None or row.status not in {"watched", "unrated"}:
        return decided
    watched = row.status == "watched"
    shown = _both(computed, assessment, watched=watched) | {"days": stage_days(outlook)}
    if watched:
        shown |= _held(assessment, outlook, row.night)
        shown["hold"] = told_hold(held_by(outlook, row.rung, row.night))
        if decided.note is not None:  # it takes the season played again, several times
            shown["more_plants"] = _more(computed, outlook, row.night)
    return replace(
        decided,
        risk=replace(row, detail={**row.detail, AHEAD: shown}),
        picture=packed_picture(outlook, row.night),
    )


def stage_days(outlook: Outlook) -> dict[str, str]:
    """Days on which half of the outlook comes to the stages that people go and look at.

    Parameters
    ----------
    outlook
        Both twins over all members.

    Returns
    -------
    dict
        ISO dates by V2, V5, V6, V8 and silk; a stage that is not reached is left out.
    """
    stages, middle = outlook.plan.stages, np.median(outlook.gdd_f, axis=1)
    marks = {f"V{leaf}": stages.at_collar(leaf) for leaf in LOOKED_AT} | {"silk": stages.silk}
    found: dict[str, str] = {}
    for name, heat in marks.items():
        place = int(np.searchsorted(middle, heat))
        if place < len(middle):
            found[name] = outlook.date(place).isoformat()
    return found


def undressed(row: RiskRecord | None) -> RiskRecord | None:
    """Give a row without what is only shown: all that a decision may remember of it."""
    if row is None or AHEAD not in row.detail:
        return row
    return replace(row, detail={key: told for key, told in row.detail.items() if key != AHEAD})


def _both(computed: Computed, a: Assessment, *, watched: bool) -> dict[str, object]:
    """Of the twin that is shown: the dug one, or free roots where nobody dug."""
    ahead, cell = a.prospects, computed.cell
    coming = cell.coming if cell else None
    return {
        "short": _span(ahead.held_onset if watched else ahead.free_onset),
        "free_short": _span(ahead.free_onset),
        "chance_short": round(ahead.held_chance if watched else ahead.free_chance, DIGITS),
        "rungs": _rounded(ahead.held_rungs if watched else ahead.free_rungs),
        "members": a.members,
        "days_to_silk": a.days_to_silk,
        "critical": a.critical,
        "weather": cell.days.names if cell else None,
        "forecast": {
            "title": coming.title,
            "issued": coming.issued.isoformat(),
            "through": coming.through.isoformat(),
        }
        if coming
        else None,
    }


def _held(a: Assessment, outlook: Outlook, night: date) -> dict[str, object]:
    """Of the roots as they were dug: reach in two weeks, stress by stage so far. [0-1, d]"""
    day = night + REACH_AHEAD
    index = outlook.day(day)
    later: dict[str, object] | None = None
    if 0 <= index < len(outlook.reach):
        three = quantiles(outlook.reach[index].astype(np.float64), MIDDLE_80)
        later = {"day": day.isoformat(), "range": _rounded(three.tolist())}
    stages = [[one.stage, round(one.held_past, DIGITS)] for one in a.prospects.stages]
    return {"reach_later": later, "stress_by_stage": stages}


def _more(computed: Computed, outlook: Outlook, night: date) -> dict[str, object] | None:
    """Whether more plants would make the dig surer where it matters."""
    if computed.season is None:
        return None
    try:
        return asdict(more_plants(outlook, computed.season, night))
    except RulesError:
        return None


def _span(span: Span | None) -> dict[str, str | None] | None:
    if span is None:
        return None
    last = span.last.isoformat() if span.last else None
    return {"middle": span.middle.isoformat(), "first": span.first.isoformat(), "last": last}


def _rounded(numbers: tuple[float, ...] | list[float]) -> list[float]:
    return [round(float(one), DIGITS) for one in numbers]
