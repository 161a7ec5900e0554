"""The replay in a few lines for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.replay.headline import counted
from rootbound_service.replay.report.say import ranged, signed

if TYPE_CHECKING:
    from rootbound_service.replay.report.facts import Facts
    from rootbound_service.replay.report.yield_facts import Way


def summary(facts: Facts) -> list[str]:
    """Say what the seasons come to.

    Parameters
    ----------
    facts
        Of the report.

    Returns
    -------
    list of str
        A line for each view that people are told of, and for each score against the yields.
    """
    lines = list(facts.headline)
    if facts.yields is not None:
        lines += [_skill(way) for way in facts.yields.ours]
    return lines


def _skill(way: Way) -> str:
    """How one score stands against the yields."""
    found, dry = way.whole.pearson, way.dry.pearson
    if found is None:
        return f"Yields, {way.name}: too few to say, or no season with stress."
    said = f"correlation {ranged(found)} over {counted(way.whole.years, 'season')}"
    if dry is not None and way.dry.years < way.whole.years:
        said += f", {ranged(dry)} without {way.whole.years - way.dry.years} wet"
    left = (
        "" if way.left_out is None else f"; left-out skill without the wet {signed(way.left_out)}"
    )
    return f"Yields, {way.name}: {said}{left}."
