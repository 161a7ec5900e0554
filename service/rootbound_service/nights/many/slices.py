"""Cuts the fields due into chunks of neighbours, and lays each chunk's input out in its turn."""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

import numpy as np

from rootbound_rules.tables import load_table
from rootbound_service.nights.gather import NOWHERE
from rootbound_service.nights.ground import bring_soils
from rootbound_service.nights.many.job import Input, write_input
from rootbound_service.nights.shown import undressed
from rootbound_service.store.field_rows import field_keys, load_fields_of
from rootbound_service.store.risk import latest_risk
from rootbound_service.weather.places import Place, each_once, places_of

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from numpy.typing import NDArray

    from rootbound_service.wiring import Parts

AT_ONCE = 20_000
"""Fields looked up in one go, so that no more than a few numbers of each stay in memory."""
FIELDS = 5_000
"""Fields of a chunk: some seconds of work, some hundred megabytes at the most."""


@dataclass(frozen=True, slots=True, eq=False)
class Due:
    """Every field due on a night, neighbours beside each other; a few numbers each."""

    ids: NDArray[np.int64]
    places: Sequence[Place | None]
    """Each once; None stands for no place in any grid."""
    place_of: NDArray[np.int64]
    growing: list[Place]
    """Places with a season that is not over."""
    first_planted: date
    """Of the seasons that are not over; the night itself where there is none."""

    @property
    def chunks(self) -> int:
        """How many chunks they make."""
        return -(-len(self.ids) // FIELDS)

    def in_chunk(self, number: int) -> list[tuple[int, Place | None]]:
        """Numbers of one chunk's fields, each with its place."""
        here = slice(number * FIELDS, (number + 1) * FIELDS)
        ids: list[int] = self.ids[here].tolist()
        which: list[int] = self.place_of[here].tolist()
        return [(one, self.places[place]) for one, place in zip(ids, which, strict=True)]


def due_fields(parts: Parts, night: date) -> Due:
    """Find the fields due, by cell.

    Parameters
    ----------
    parts
        The wired service.
    night
        The night.
    """
    longest = int(load_table("season").number("longest_days"))
    ids, which = array("q"), array("q")
    number: dict[Place | None, int] = {}
    growing: dict[Place, None] = {}
    first = night
    with parts.engine.execution_options(ro=True).connect() as conn:
        keys = field_keys(conn, night)
        while some := list(islice(keys, AT_ONCE)):
            found = places_of([(key.lat, key.lon) for key in some], parts.order, parts.feeds)
            for key, place in zip(some, found, strict=True):
                ids.append(key.field_id)
                which.append(number.setdefault(place, len(number)))
                if (night - key.planted).days < longest:
                    first = min(first, key.planted)
                    if place is not None:
                        growing[place] = None
    place_of = np.array(which, np.int64)
    order = np.argsort(place_of, kind="stable")
    sorted_ids = np.array(ids, np.int64)[order]
    return Due(sorted_ids, list(number), place_of[order], list(growing), first)


def lay_out(
    parts: Parts,
    due: Due,
    night: date,
    number: int,
    troubles: dict[str, str],
    folder: Path,
    *,
    pull: bool = True,
) -> bytes:
    """Load one chunk's fields and what the ladder remembers, and write them down.

    Parameters
    ----------
    parts
        The wired service.
    due
        Every field due.
    night
        The night.
    number
        Of the chunk.
    troubles
        By place key: why its weather did not come.
    folder
        Of the sweep.
    pull
        Whether to ask for the soil of fields that have none yet.

    Returns
    -------
    bytes
        Fingerprint of the input.
    """
    some = due.in_chunk(number)
    ids = [one for one, _ in some]
    key_of = {one: place.key if place else NOWHERE for one, place in some}
    with parts.engine.execution_options(ro=True).connect() as conn:
        fields = load_fields_of(conn, ids, on=night)
    if pull and bring_soils(parts, fields):
        with parts.engine.execution_options(ro=True).connect() as conn:
            fields = load_fields_of(conn, ids, on=night)
    with parts.engine.execution_options(ro=True).connect() as conn:
        memory = latest_risk(conn, night, [one.season_id for one in fields])
    shown_less = ((season, undressed(row)) for season, row in memory.items())
    once = each_once(place for _, place in some)
    keys = {place.key for place in once}
    given = Input(
        tuple(fields),
        {season: row for season, row in shown_less if row is not None},
        tuple(once),
        {one.id: key_of[one.id] for one in fields},
        {key: said for key, said in sorted(troubles.items()) if key in keys},
    )
    return write_input(folder, number, given)
