"""A worker waits for its turn to lead, and keeps asking whether it still does."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import structlog
from sqlalchemy.exc import SQLAlchemyError

from rootbound_service.nights.operator import in_short
from rootbound_service.store.leading import try_lead

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from rootbound_service.store.leading import Lead

ASK_S = 5.0
"""A worker that waits asks so often, one that leads asks the database so often. [s]"""
_log = structlog.get_logger(__name__)


def wait_for_lead(engine: Engine, stopped: threading.Event, ask_s: float = ASK_S) -> Lead | None:
    """Wait until nobody else leads; say so in the log once, not every time.

    Parameters
    ----------
    engine
        The database.
    stopped
        Ends the waiting.
    ask_s
        Time between two tries. [s]

    Returns
    -------
    Lead or None
        None if stopped before.
    """
    said = ""
    while not stopped.is_set():
        why = "another worker leads this database; this one takes over when that is gone"
        try:
            lead = try_lead(engine)
            if lead is not None:
                if said:
                    _log.info("worker_takes_over")
                return lead
        except (SQLAlchemyError, OSError) as error:
            why = f"the lead cannot be asked for: {in_short(error)}"
        if why != said:
            _log.warning("worker_waits", why=why)
            said = why
        stopped.wait(ask_s)
    return None


def hold(lead: Lead, stopped: threading.Event, ask_s: float = ASK_S) -> bool:
    """Wait until stopped, or until the lead is lost.

    Parameters
    ----------
    lead
        Of the database.
    stopped
        Ends the waiting.
    ask_s
        Time between two looks at the lead. [s]

    Returns
    -------
    bool
        Whether it was held to the end.
    """
    while not stopped.wait(ask_s):
        if not lead.holds():
            _log.error("worker_lost_lead", why="its connection to the database ended")
            return False
    return True
