"""One field's night by itself: computed, decided, and what its card tells of the days to come."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.nights.compute import compute, failed
from rootbound_service.nights.decide import decide
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.shown import undressed, with_shown

if TYPE_CHECKING:
    from datetime import date

    from rootbound_service.nights.parts import CellNight, Decided
    from rootbound_service.records import FieldRecord, RiskRecord


def decide_one(
    field: FieldRecord,
    cell: CellNight | None,
    before: RiskRecord | None,
    night: date,
    stale_days: int,
    trouble: str | None,
    fewest_years: int,
) -> Decided:
    """Compute and decide one field; whatever goes wrong is told in its failure.

    Parameters
    ----------
    field, cell, night, stale_days, trouble, fewest_years
        As for :func:`rootbound_service.nights.compute.compute`.
    before
        The field's row of the night before.
    """
    last = undressed(before)
    try:
        computed = compute(field, cell, night, stale_days, trouble, fewest_years)
        return with_shown(decide(computed, last, night))
    except Exception as error:  # noqa: BLE001  one field never stops the others
        why = f"could not be computed: {in_short(error)}"
        return decide(failed(field, why, cell), last, night)
