"""A letter that came back: kept with it, and whoever cannot be reached is written to no more."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.channels.bounces import BACK_DAYS, MOST_SOFT, Bounce, what_follows
from rootbound_service.store.receipts import add_receipt, codes_of
from rootbound_service.store.suppressions import suppress, suppressed

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from rootbound_service.replies.letters import Letter

_log = structlog.get_logger(__name__)


def take_bounce(conn: Connection, bounce: Bounce, letter: Letter, now: datetime) -> None:
    """Keep a bounce, and stop an address that is dead or has been full for too long.

    Parameters
    ----------
    conn
        The caller's transaction.
    bounce
        What the mail system says.
    letter
        Which letter it is about.
    now
        The time, aware.
    """
    add_receipt(conn, letter.id, now, bounce.state, bounce.status or None, bounce.said)
    follows = bounce.follows
    _log.warning("bounced", message=letter.id, status=bounce.status, follows=follows)
    if letter.contact_id is None:  # the operator's own: told by the count of failures
        return
    if follows == "count":
        since = now - timedelta(days=BACK_DAYS)
        codes = codes_of(conn, letter.contact_id, since)
        soft = sum(what_follows("failed", code) == "count" for code in codes.values())
        follows = "suppress" if soft >= MOST_SOFT else "nothing"
    if follows == "suppress" and "all" not in suppressed(conn, "email", letter.to_address):
        reason = f"bounce {bounce.status or 'without a code'}"
        suppress(conn, "email", letter.to_address, "all", reason, now)
