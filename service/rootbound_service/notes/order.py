"""In what order fields are told: the most urgent first."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rootbound_service.notes.facts import FieldFacts

_PLACE = {"unknown": 3.2, "unrated": 3.4, "waiting": 5.0, "finished": 6.0}
"""Where fields without a rung stand among 4 - rung: unknown and unrated come before ample."""


def urgency(facts: FieldFacts) -> tuple[float, int, float, str, int]:
    """Return a sort key: rung, climbing, least water in reach, name.

    Fields without an answer and fields without a dig stand behind the warned ones and before
    the ample ones: silence is never fine.
    """
    rung = facts.rung if facts.status == "watched" else None
    place = _PLACE.get(facts.status, 3.2) if rung is None else 4.0 - rung
    climbed = rung is not None and facts.previous_rung is not None and rung > facts.previous_rung
    left = facts.water_in_reach_mm
    return (
        place,
        0 if climbed else 1,
        1e9 if left is None else left,
        facts.field_name,
        facts.field_id,
    )


def by_urgency(fields: Iterable[FieldFacts]) -> tuple[FieldFacts, ...]:
    """Sort fields, the most urgent first."""
    return tuple(sorted(fields, key=urgency))
