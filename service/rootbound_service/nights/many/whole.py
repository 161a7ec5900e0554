"""Fields with something to tell, each computed by itself: what is kept of them for the record."""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from rootbound_service.nights.compute import compute
from rootbound_service.nights.keeping import pasts_of
from rootbound_service.nights.letters import Heard, heard_of
from rootbound_service.nights.many.pasts import leave
from rootbound_service.nights.many.weighed import Silence, ends, silence_of
from rootbound_service.nights.one import decide_one
from rootbound_service.nights.pictures import packed_picture
from rootbound_service.records import NoteRecord, RiskRecord

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from rootbound_rules.season.outlook import Outlook
    from rootbound_service.nights.many.weighed import Chunk, Rules
    from rootbound_service.nights.parts import CellNight, Decided
    from rootbound_service.records import FieldRecord


@dataclass(frozen=True, slots=True)
class Whole:
    """Fields that were computed singly, light enough to be sent and kept for an hour."""

    rows: list[RiskRecord]
    notes: list[NoteRecord]
    heard: list[Heard]
    failures: list[str]
    """Notes that could not be put in words."""
    pictures: dict[int, bytes]
    """The season's days by season, packed for the pages."""
    silent: list[Silence]
    pasts: list[str]
    """Fingerprints of the past years behind the notes."""


def whole_of(fields: list[FieldRecord], chunk: Chunk, rules: Rules, folder: Path) -> Whole:
    """Compute fields singly.

    Parameters
    ----------
    fields
        Of the chunk.
    chunk, rules
        As :func:`rootbound_service.nights.many.weighed.weigh_chunk` had them.
    folder
        Where past years are left for the record.
    """
    found = Whole([], [], [], [], {}, [], [])
    for one in fields:
        key = chunk.cell_of[one.id]
        cell, trouble = chunk.cells.get(key), chunk.troubles.get(key)
        before = chunk.memory.get(one.season_id)
        of_night = (rules.night, rules.stale_days, trouble, rules.fewest_years)
        decided = decide_one(one, cell, before, *of_night)
        if ends(decided.risk, before):
            outlook = decided.computed.outlook or _as_if_uncut(one, cell, *of_night)
            last_days = None if outlook is None else packed_picture(outlook, rules.night)
            decided = replace(decided, picture=last_days)
        _add(decided, found, folder)
    return found


def _as_if_uncut(
    field: FieldRecord,
    cell: CellNight | None,
    night: date,
    stale_days: int,
    trouble: str | None,
    fewest_years: int,
) -> Outlook | None:
    """Outlook of a harvested field as if it stood: a usual night kept its days yesterday."""
    seen = tuple(one for one in field.observations if one.kind != "harvest")
    uncut = replace(field, observations=seen)
    return compute(uncut, cell, night, stale_days, trouble, fewest_years).outlook


def _add(decided: Decided, found: Whole, folder: Path) -> None:
    """Keep what the record takes of one field, and let its outlook go."""
    found.rows.append(decided.risk)
    silence = silence_of(decided.computed)
    if silence is not None:
        found.silent.append(silence)
    if decided.picture:
        found.pictures[decided.risk.season_id] = decided.picture
    if decided.note is None:
        return
    found.notes.append(decided.note)
    heard, failures = heard_of([decided])
    found.heard.extend(heard)
    found.failures.extend(failures)
    found.pasts.extend(leave(folder, pasts_of([decided])))


def to_bytes(whole: Whole) -> NDArray[np.uint8]:
    """Pack for a part; read back only from our own folder."""
    return np.frombuffer(pickle.dumps(whole, protocol=5), np.uint8)


def from_bytes(arrays: Mapping[str, NDArray[Any]]) -> Whole:
    """Unpack what :func:`to_bytes` packed of a part."""
    found: Whole = pickle.loads(arrays["whole"].tobytes())  # noqa: S301  written by our own workers
    return found
