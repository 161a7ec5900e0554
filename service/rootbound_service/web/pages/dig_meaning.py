"""What a dig means, worked out at once from the stored weather; nothing of it is stored."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rootbound_service.nightly import decide_all
from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import gather
from rootbound_service.store.schema import field

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.nights.parts import Gathered
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import DigRecord, FieldRecord
    from rootbound_service.wiring import Parts


@dataclass(frozen=True, slots=True)
class Meaning:
    """A field without a dig and with it, as of today."""

    before: FieldFacts | None
    after: FieldFacts | None
    why_not: str = ""
    """Why nothing can be said."""


def meaning_of(parts: Parts, one: FieldRecord, card: DigRecord, today: date) -> Meaning:
    """Compute a field as if the night were now, with and without one dig.

    Parameters
    ----------
    parts
        The wired service; only stored weather is used.
    one
        The field.
    card
        The dig.
    today
        The day at the field.
    """
    gathered = gather(parts, today, pull=False, which=(field.c.id == one.id,))
    if not gathered.fields:
        return Meaning(None, None, "It is not planted yet.")
    (whole,) = gathered.fields
    without = replace(whole, digs=tuple(dig for dig in whole.digs if dig.id != card.id))
    up_to = [dig for dig in whole.digs if (dig.dug_on, dig.id) <= (card.dug_on, card.id)]
    after = _facts(parts, gathered, replace(whole, digs=tuple(up_to)))
    before = _facts(parts, gathered, without)
    if after is None or after.rung is None:
        return Meaning(before, after, "The weather of its place is not stored yet.")
    return Meaning(before, after)


def _facts(parts: Parts, gathered: Gathered, one: FieldRecord) -> FieldFacts | None:
    # without the ladder's memory: the question is what the roots mean, not what was told
    asked = replace(gathered, fields=(one,), memory={})
    (decided,) = decide_all(asked, parts.settings.weather_stale_days)
    return facts_of(decided, None) if decided.computed.outlook is not None else None
