"""One field as it is opened: its stored nights, and what the last one does not keep, dressed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rootbound_service.nights.again import StoredNight
from rootbound_service.nights.pictures import card_of
from rootbound_service.nights.shown import AHEAD
from rootbound_service.nights.standing import COMPUTED
from rootbound_service.store.observations import observations_as_of
from rootbound_service.store.risk import risk_history
from rootbound_service.store.runs import run_of
from rootbound_service.store.season_pictures import picture_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

    from sqlalchemy import Connection

    from rootbound_service.records import FieldRecord, RiskRecord
    from rootbound_service.web.parts import Desk

COMING = (
    "The days to come and the season's picture are being worked out: they are here with the "
    "next look."
)
CORRECTED = (
    "The weather, or what is known of the field, has been corrected since the night of {night}: "
    "shown is what that night kept. The next night goes by what is known now."
)
MOVED = (
    "The weather, or what is known of the field, has been corrected a little since the night of "
    "{night}. The rung is the same; the days to come and the season's picture go by what is "
    "known now."
)
NOT_HERE = (
    "The days to come and the season's picture cannot be worked out here just now: shown is what "
    "the night kept."
)
MORE = "Asked for by itself the field tells its days to come as well."
"""Of a field in a list."""
_SAID = {
    "same": "",
    "moved": MOVED,
    "other": CORRECTED,
    "coming": COMING,
    "no_weather": NOT_HERE,
    "failed": NOT_HERE,
}
PASSING = ("coming", "no_weather", "failed")
"""Outcomes that the next look may find otherwise."""


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A season's nights as they are shown."""

    rows: tuple[RiskRecord, ...]
    """Oldest first; the last with all that the usual night keeps, if it could be had."""
    packed: bytes | None
    """The season's days; None where there are none."""
    said: str = ""
    """What a reader should know of it, in a sentence or two."""
    passing: bool = False
    """Whether the next look may show more."""


def look(desk: Desk, one: FieldRecord) -> Look:
    """Look at a field's season; no transaction should be open, since this may take seconds.

    Parameters
    ----------
    desk
        The service.
    one
        The field, which the reader may see.
    """
    with desk.reading() as conn:
        rows = tuple(risk_history(conn, one.season_id))
        kept = picture_of(conn, one.season_id)
        at = _on_ladder(rows)
        run = None if at is None or _whole(rows, at, kept) else run_of(conn, rows[at].night)
        if at is None or run is None or run.finished_at is None:
            return Look(rows, kept[1] if kept else None)
        stored = _stored(conn, one, rows, at, run.finished_at)
    packed, row = kept[1] if kept else None, stored.row
    if packed is not None and card_of(packed, row.night, stored.moment) is not None:
        return Look(_dressed(rows, stored, packed), packed)
    found = desk.dressing.of(stored)
    said = _SAID[found.kind].format(night=row.night)
    if found.packed is None:
        return Look(rows, packed, said, found.kind in PASSING)
    return Look(_dressed(rows, stored, found.packed), found.packed, said)


def _dressed(
    rows: tuple[RiskRecord, ...], stored: StoredNight, packed: bytes
) -> tuple[RiskRecord, ...]:
    """The rows, the last with what its card tells where the row itself does not keep it."""
    card, last = card_of(packed, stored.row.night, stored.moment), rows[-1]
    if card is None or last is not stored.row:
        return rows
    return (*rows[:-1], replace(last, detail={**card, **last.detail}))


def bare(row: RiskRecord) -> bool:
    """Tell whether a row on the ladder lacks what its field's card tells.

    Parameters
    ----------
    row
        Of a night.
    """
    return row.status in COMPUTED and AHEAD not in row.detail


def _on_ladder(rows: Sequence[RiskRecord]) -> int | None:
    """Which row is that of the last night on the ladder: the season is drawn as of it."""
    return next((i for i in reversed(range(len(rows))) if rows[i].status in COMPUTED), None)


def _whole(rows: Sequence[RiskRecord], at: int, kept: tuple[date, bytes] | None) -> bool:
    """Tell whether the night itself kept all that is shown of it."""
    last, night = at == len(rows) - 1, rows[at].night
    # days kept on the night that ended the season are for those who look back on many
    drawn = kept is not None and night <= kept[0] and (last or kept[0] < rows[at + 1].night)
    return drawn and not (last and bare(rows[at]))


def _stored(
    conn: Connection, one: FieldRecord, rows: Sequence[RiskRecord], at: int, moment: datetime
) -> StoredNight:
    """A night with the field as it was known: without what was recorded later."""
    digs = tuple(it for it in one.digs if it.recorded_at is None or it.recorded_at <= moment)
    seen = observations_as_of(conn, one.season_id, moment)
    then = replace(one, digs=digs, observations=seen)
    return StoredNight(then, rows[at], rows[at - 1] if at else None, moment)
