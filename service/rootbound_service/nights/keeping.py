"""Keep the past years that tonight's notes rest on, each once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.nights.kept import cut_of, pack_past, past_fingerprint
from rootbound_service.store.kept_weather import is_kept, keep

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from sqlalchemy import Connection

    from rootbound_service.nights.parts import Decided


def keep_past(conn: Connection, decided: Iterable[Decided], now: datetime) -> int:
    """Keep the past years of every cell whose fields had a note.

    Parameters
    ----------
    conn
        The transaction that stores the notes.
    decided
        The night's fields.
    now
        The time.

    Returns
    -------
    int
        How many pasts were new.
    """
    looked: set[str] = set()
    new = 0
    for one in decided:
        cell, outlook = one.computed.cell, one.computed.outlook
        if one.note is None or cell is None or outlook is None:
            continue
        cut = cut_of(cell.weather, outlook.plan.first)
        fingerprint = past_fingerprint(cell.weather, cut)
        if fingerprint in looked:
            continue
        looked.add(fingerprint)
        if not is_kept(conn, fingerprint):
            new += keep(conn, fingerprint, pack_past(cell.weather, cut), now)
    return new
