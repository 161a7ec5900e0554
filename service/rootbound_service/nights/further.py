"""What a note tells beside its rung: rain or water that would hold, and how belief moved."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_rules.errors import RulesError
from rootbound_rules.risk.rain_to_hold import rain_to_hold
from rootbound_service.nights.plain import plain

if TYPE_CHECKING:
    from rootbound_rules.season.belief import Belief
    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.records import RiskRecord


def further(
    outlook: Outlook | None, belief: Belief | None, row: RiskRecord, *, irrigated: bool
) -> dict[str, object]:
    """Give what JSON holds of the further results of a note.

    Parameters
    ----------
    outlook, belief
        Of the field, None where there is none.
    row
        Of the night.
    irrigated
        Whether water can be given.
    """
    found: dict[str, object] = {}
    if outlook is not None and row.status == "watched" and row.rung is not None:
        for name in ("hold", "water_to_hold") if irrigated else ("hold",):
            try:
                water = name == "water_to_hold"
                held = rain_to_hold(outlook, row.night, row.rung, irrigation=water)
            except RulesError:
                continue  # the season ends within the week
            found[name] = plain(held)
    if belief is not None:
        found["belief"] = plain(belief.told())
    return found
