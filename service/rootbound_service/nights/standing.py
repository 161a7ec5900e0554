"""How a field stands tonight, as the notes' own facts: the same words for mail, page, terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.risk.rungs import Reason
from rootbound_service.nights.row_facts import card_facts

if TYPE_CHECKING:
    from rootbound_service.notes.facts import FieldFacts
    from rootbound_service.records import FieldRecord, RiskRecord

COMPUTED = ("watched", "unrated")


def facts_of(
    field: FieldRecord,
    risk: RiskRecord | None,
    *,
    today: date,
    stale_days: int,
    earlier: Sequence[RiskRecord] = (),
) -> FieldFacts | None:
    """Put a field and what the last night found together.

    Parameters
    ----------
    field
        With its season, digs and observations.
    risk
        Its latest row; None before the first night.
    today
        The day it is.
    stale_days
        Weather older than this makes the field unknown, whatever the row says. [days]
    earlier
        Rows of earlier nights, oldest first.

    Returns
    -------
    FieldFacts or None
        None before the first night.
    """
    if risk is None:
        return None
    through = risk.weather_through
    old = through is None or (today - through).days > stale_days
    if risk.status in COMPUTED and old:
        risk = replace(risk, status="unknown", rung=None, reason=str(Reason.WEATHER_TOO_OLD))
    return replace(card_facts(field, risk, earlier), night=today)
