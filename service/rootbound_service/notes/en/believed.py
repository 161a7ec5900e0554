"""How reports of leaves moved belief, in words: for the page of a field and for letters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, cast

from rootbound_service.notes import units as unit_texts
from rootbound_service.notes.en import quantities
from rootbound_service.notes.en.quantities import count
from rootbound_service.records import Units

Told = Mapping[str, Any]
"""``Belief.told()``, or the same read back from JSON."""
SHOWN = 3
"""Reports that are told one by one, the last ones. Our choice."""
SURPRISING = 0.25
"""A report that the weather alone gave less chance is pointed out. Our choice. [0-1]"""


def belief_lines(told: Mapping[str, object] | None, units: Units) -> list[str]:
    """Say what was reported, what it changed, and what could not be used.

    Parameters
    ----------
    told
        From ``Belief.told()``; None or empty where nobody reported.
    units
        The reader's.

    Returns
    -------
    list of str
        A sentence each; none where nobody reported.
    """
    if not told:
        return []
    belief = cast("Told", told)
    lines = [_left_out(one, units) for one in belief["ignored"]]
    used = belief["used"]
    if not used:
        return lines
    moved = {one["name"]: one for one in belief["moved"]}
    water = _change(*(_depths(moved["water"][key], units) for key in ("before", "after")))
    stress = _change(*(_days(moved["stress"][key]) for key in ("before", "after")))
    changed = [
        f"Water in reach {water}.",
        f"Stress of the past 7 days in stress-day equivalents {stress}.",
    ]
    return [_weighed_in(used, units), *_surprises(used, units), *changed, *_thin(belief), *lines]


def _weighed_in(used: Sequence[Told], units: Units) -> str:
    """How many reports counted, and the last of them."""
    heard = "; ".join(_heard(one, units) for one in used[-SHOWN:])
    last = f", the last {SHOWN}" if len(used) > SHOWN else ""
    return f"{count(len(used), 'report')} of leaves weighed in{last}: {heard}."


def _change(before: str, after: str) -> str:
    """Two figures as a reader takes them in: what weather and dig alone say, then with them."""
    if before == after:
        return f"is {after} with or without them"
    return f"was {before} by weather and dig alone, is {after} with them"


def _heard(one: Told, units: Units) -> str:
    """A report with what was expected of that day."""
    return f"{_saying(one, units)} (rolled expected at {100 * one['expected']:.0f} %)"


def _saying(one: Told, units: Units) -> str:
    day = quantities.day(date.fromisoformat(one["day"]), units)
    return f"{day} {'rolled' if one['rolled'] else 'not rolled'}"


def _left_out(one: Told, units: Units) -> str:
    return f"The report of {_saying(one, units)} is kept but not used: {one['why']}."


def _surprises(used: Sequence[Told], units: Units) -> list[str]:
    """Reports that the model hardly expected: somebody should look again, at both."""
    odd = [
        one
        for one in used
        if (one["expected"] if one["rolled"] else 1.0 - one["expected"]) < SURPRISING
    ]
    if not odd:
        return []
    days = ", ".join(_saying(one, units) for one in odd)
    wanted = "Look again at noon, and at gauge, soil and dig card; mind heat and re-entry times."
    return [f"Hardly expected: {days}. {wanted}"]


def _thin(belief: Told) -> list[str]:
    """Say when hardly any draw fits what was reported."""
    if not belief["thin"]:
        return []
    few = f"Hardly any of the {belief['draws']} draws fit these reports"
    return [f"{few} (they weigh as {belief['effective']:.0f}): take the figures with care."]


def _depths(three: Sequence[float], units: Units) -> str:
    """Median and middle 80 % of a depth of water."""
    low, middle, high = (unit_texts.water_number(one, units) for one in three)
    return f"{middle} {unit_texts.unit_name(units)} ({low} to {high})"


def _days(three: Sequence[float]) -> str:
    low, middle, high = three
    return f"{middle:.1f} ({low:.1f} to {high:.1f})"
