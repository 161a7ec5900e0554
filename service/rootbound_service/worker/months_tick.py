"""Partitions of the months to come, made while no night is waiting for them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import structlog

from rootbound_service.store.risk_months import make_room

if TYPE_CHECKING:
    from rootbound_service.wiring import Service

_log = structlog.get_logger(__name__)


def months_tick(service: Service) -> list[str]:
    """Make the partitions of this month and the next ones on PostgreSQL; nothing on SQLite.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    list of str
        Those that are new.
    """
    made = make_room(service.engine, service.clock.now().date())
    if made:
        _log.info("months_made", partitions=made)
    return made
