"""In what order fields are told: the most urgent first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.store.standings import PLACES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rootbound_service.notes.facts import FieldFacts


def urgency(facts: FieldFacts) -> tuple[float, int, float, str, int]:
    """Return a sort key: rung, climbing, least water in reach, name.

    Fields without an answer and fields without a dig stand behind the warned ones and before
    the ample ones: silence is never fine.
    """
    rung = facts.rung if facts.status == "watched" else None
    place = PLACES.get(facts.status, PLACES["unknown"]) if rung is None else 4.0 - rung
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
