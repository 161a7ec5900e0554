"""Keep the past years that tonight's notes rest on, each once."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from rootbound_service.nights.kept import cut_of, past_fingerprint
from rootbound_service.nights.kept_pack import pack_past
from rootbound_service.store.kept_weather import keep, kept_among

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
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
    return keep_pasts(conn, pasts_of(decided), now)


def pasts_of(decided: Iterable[Decided]) -> dict[str, Callable[[], bytes]]:
    """Give the past years behind notes by fingerprint, packed when they are asked for.

    Parameters
    ----------
    decided
        Fields of the night.
    """
    found: dict[str, Callable[[], bytes]] = {}
    for one in decided:
        cell, outlook = one.computed.cell, one.computed.outlook
        if one.note is None or cell is None or outlook is None:
            continue
        cut = cut_of(cell.weather, outlook.plan.first)
        found.setdefault(past_fingerprint(cell.weather, cut), partial(pack_past, cell.weather, cut))
    return found


def keep_pasts(conn: Connection, pasts: Mapping[str, Callable[[], bytes]], now: datetime) -> int:
    """Keep past years that are not kept yet.

    Parameters
    ----------
    conn, now
        As for :func:`keep_past`.
    pasts
        From :func:`pasts_of`.

    Returns
    -------
    int
        How many were new.
    """
    kept = kept_among(conn, pasts)  # packing takes longer than asking
    return sum(keep(conn, one, pack(), now) for one, pack in pasts.items() if one not in kept)
