"""The night, told in order: gather, compute, decide, record. Sending happens later, elsewhere.

1. Gather fields, digs and the ladder's memory from the store; ask the weather's sources for
   every cell once, and put each cell's days together from all that have them.
2. Compute both twins of every field: the season so far, then the outlook.
3. Decide each field's rung, and whether anybody should hear of it, with a named reason.
4. Record risk, notes with their evidence, and the messages, in one transaction.

Steps 2 and 3 are pure functions of values. One bad field never stops the others.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.nights.compute import compute, failed
from rootbound_service.nights.decide import decide
from rootbound_service.nights.gather import gather
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.parts import Decided, Gathered, NightReport
from rootbound_service.nights.record import record
from rootbound_service.nights.shown import undressed, with_shown
from rootbound_service.nights.whole_code import read_whole_code

if TYPE_CHECKING:
    from collections.abc import Callable

    from rootbound_service.records import FieldRecord
    from rootbound_service.wiring import Parts


def run_night(
    parts: Parts,
    night: date,
    progress: Callable[[int, int], None] | None = None,
    *,
    past: bool = True,
) -> NightReport:
    """Run one night for every field; running it again changes nothing that was right.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night; weather up to the day before is asked for.
    progress
        Told how many fields are done, and of how many.
    past
        Whether to fetch the past years of new cells now, before computing.

    Returns
    -------
    NightReport
        Counts, and what went wrong in sentences.
    """
    gathered = gather(parts, night, past=past)
    decided = decide_all(gathered, parts.settings.weather_stale_days, progress)
    return record(parts, gathered, decided)


def decide_all(
    gathered: Gathered, stale_days: int, progress: Callable[[int, int], None] | None = None
) -> list[Decided]:
    """Compute and decide every field of a night.

    Parameters
    ----------
    gathered
        What the night starts from.
    stale_days
        Weather older than this makes a field unknown. [days]
    progress
        Told how many fields are done, and of how many.
    """
    read_whole_code()
    decided: list[Decided] = []
    for done, field in enumerate(gathered.fields, 1):
        decided.append(_decide_one(gathered, field, stale_days))
        if progress is not None:
            progress(done, len(gathered.fields))
    return decided


def _decide_one(gathered: Gathered, field: FieldRecord, stale_days: int) -> Decided:
    """Compute and decide one field; whatever goes wrong is told in its failure."""
    key, before = gathered.cell_of[field.id], undressed(gathered.memory.get(field.season_id))
    cell, trouble = gathered.cells.get(key), gathered.troubles.get(key)
    try:
        computed = compute(field, cell, gathered.night, stale_days, trouble, gathered.fewest_years)
        return with_shown(decide(computed, before, gathered.night))
    except Exception as error:  # noqa: BLE001  one field never stops the others
        why = f"could not be computed: {in_short(error)}"
        return decide(failed(field, why, cell), before, gathered.night)
