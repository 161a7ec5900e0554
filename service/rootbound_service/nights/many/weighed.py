"""One chunk of fields of a night: rows of those that are quiet, and which need a longer look."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from rootbound_service.nights.compute import Ready, failed, make_ready
from rootbound_service.nights.decide import weigh
from rootbound_service.nights.many.quick import Quick, quick_of
from rootbound_service.nights.operator import in_short
from rootbound_service.nights.remembered import remembered
from rootbound_service.nights.standing import COMPUTED
from rootbound_service.nights.troubles import by_weather

if TYPE_CHECKING:
    from rootbound_service.nights.decide import Weighed
    from rootbound_service.nights.parts import CellNight, Computed
    from rootbound_service.records import FieldRecord, RiskRecord

Silence = tuple[int, str, str | None, bool]
"""Field, status, failure, and whether it is for want of weather."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What a night holds every field to."""

    night: date
    stale_days: int
    fewest_years: int = 1


@dataclass(frozen=True, slots=True, eq=False)
class Chunk:
    """Fields with what the ladder remembers of them, and their cells' days."""

    fields: Sequence[FieldRecord]
    memory: Mapping[int, RiskRecord]
    """By season; without what is only shown."""
    cells: Mapping[str, CellNight]
    cell_of: Mapping[int, str]
    """Key by field."""
    troubles: Mapping[str, str] = field(default_factory=dict[str, str])


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a chunk comes to."""

    quiet: list[RiskRecord]
    whole: list[FieldRecord]
    """Fields with something to tell, with reports to weigh, or at their end: computed singly."""
    silent: list[Silence]
    """Quiet fields without an answer."""


def silence_of(computed: Computed) -> Silence | None:
    """Give what the operator may have to hear of a field; None where it has an answer.

    Parameters
    ----------
    computed
        The field.
    """
    if computed.status != "unknown" and not computed.failure:
        return None
    return (computed.field.id, computed.status, computed.failure, by_weather(computed))


def weigh_chunk(chunk: Chunk, rules: Rules) -> Found:
    """Compute a chunk's fields side by side, and weigh each.

    Parameters
    ----------
    chunk
        The fields.
    rules
        Of the night.
    """
    found = Found([], [], [])
    ready: list[Ready] = []
    others: list[Computed] = []
    for one in chunk.fields:
        key = chunk.cell_of[one.id]
        cell, trouble = chunk.cells.get(key), chunk.troubles.get(key)
        given = (rules.night, rules.stale_days, trouble, rules.fewest_years)
        try:
            made = make_ready(one, cell, *given)
        except Exception as error:  # noqa: BLE001  one field never stops the others
            made = failed(one, f"could not be computed: {in_short(error)}", cell)
        if not isinstance(made, Ready):
            others.append(made)
        elif made.computed.observed is not None and made.computed.observed.reports:
            found.whole.append(one)
        else:
            ready.append(made)
    for quick in (*quick_of(ready, rules.night), *map(Quick, others)):
        _weigh(quick, chunk, rules.night, found)
    return found


def _weigh(quick: Quick, chunk: Chunk, night: date, found: Found) -> None:
    """Put one field where it belongs."""
    computed = quick.computed
    before = chunk.memory.get(computed.field.season_id)
    try:
        weighed = weigh(computed, before, night, slim=True)
    except Exception:  # noqa: BLE001  what is the matter shows when it is computed singly
        found.whole.append(computed.field)
        return
    if weighed.told or ends(weighed.risk, before) or _roots_may_tell(quick, weighed, before):
        found.whole.append(computed.field)
        return
    found.quiet.append(weighed.risk)
    done = weighed.computed
    silence = silence_of(done)
    if silence is not None:
        found.silent.append(silence)


def ends(row: RiskRecord, before: RiskRecord | None) -> bool:
    """Tell whether a field's season ends tonight: its days are kept for those who look back.

    Parameters
    ----------
    row, before
        Its row of tonight and the one before it.
    """
    return row.status == "finished" and before is not None and before.status in COMPUTED


def _roots_may_tell(quick: Quick, weighed: Weighed, before: RiskRecord | None) -> bool:
    """Tell whether news of the roots may be due, which takes the whole outlook to see."""
    row, last = weighed.risk, remembered(before)
    if row.status != "watched":
        return False
    if not last.said_free:
        return quick.may_be_free and row.rung == row.free_rung
    return not last.took_back and quick.may_be_held_again
