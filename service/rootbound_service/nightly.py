"""The night, told in order: gather, compute, decide, record. Sending happens later, elsewhere.

1. Gather fields, digs and the ladder's memory from the store; ask the weather's sources for
   every cell once, and put each cell's days together from all that have them.
2. Compute both twins of every field: the season so far, then the outlook.
3. Decide each field's rung, and whether anybody should hear of it, with a named reason.
4. Record risk, notes with their evidence, and the messages, in one transaction.

Steps 2 and 3 are pure functions of values. One bad field never stops the others. Above a
number of fields the same steps go chunk by chunk over several processes or hosts.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.nights.gather import gather
from rootbound_service.nights.many.run import run_many
from rootbound_service.nights.one import decide_one
from rootbound_service.nights.parts import Decided, Gathered, NightReport
from rootbound_service.nights.record import record
from rootbound_service.nights.whole_code import read_whole_code
from rootbound_service.store.field_rows import count_due
from rootbound_service.store.runs import finished_at
from rootbound_service.sweep.run import Cancelled

if TYPE_CHECKING:
    from collections.abc import Callable

    from rootbound_service.nights.many.run import Plant
    from rootbound_service.wiring import Parts


def run_night(
    parts: Parts,
    night: date,
    progress: Callable[[int, int], None] | None = None,
    *,
    past: bool = True,
    plant: Callable[[], Plant] | None = None,
    cancelled: Callable[[], bool] = lambda: False,
) -> NightReport:
    """Run one night for every field; running it again changes nothing that was right.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night; weather up to the day before is asked for.
    progress
        Told how many fields, or chunks of very many, are done, and of how many.
    past
        Whether to fetch the past years of new cells now, before computing.
    plant
        Where very many fields are computed, called once their weather has come; None: every
        field here, one after the other.
    cancelled
        Asked after each field, or chunk of very many, whether to stop.

    Returns
    -------
    NightReport
        Counts, and what went wrong in sentences.

    Raises
    ------
    Cancelled
        If it was to stop, or somebody else has recorded the night meanwhile: nothing is
        recorded, and run again the night is the same.
    """
    if plant is not None and _fields(parts, night) > parts.settings.sweep_from_fields:
        return run_many(parts, night, plant, progress, past=past, cancelled=cancelled)
    with parts.engine.execution_options(ro=True).connect() as conn:
        seen = finished_at(conn, night)
    gathered = gather(parts, night, past=past)

    def tell(done: int, of: int) -> None:
        if progress is not None:
            progress(done, of)
        if done < of and cancelled():
            raise Cancelled(f"stopped with {done} of {of} fields done")

    decided = decide_all(gathered, parts.settings.weather_stale_days, tell)
    return record(parts, gathered, decided, seen)


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
        key, before = gathered.cell_of[field.id], gathered.memory.get(field.season_id)
        cell, trouble = gathered.cells.get(key), gathered.troubles.get(key)
        given = (gathered.night, stale_days, trouble, gathered.fewest_years)
        decided.append(decide_one(field, cell, before, *given))
        if progress is not None:
            progress(done, len(gathered.fields))
    return decided


def _fields(parts: Parts, night: date) -> int:
    """Count the fields due."""
    with parts.engine.execution_options(ro=True).connect() as conn:
        return count_due(conn, night)
