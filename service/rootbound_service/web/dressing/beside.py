"""Puts together what computes opened nights beside the pages of a service."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rootbound_service.store.season_pictures import keep_picture
from rootbound_service.web.dressing.desk import Dressing
from rootbound_service.web.dressing.hand import Hand

if TYPE_CHECKING:
    from rootbound_service.nights.again import StoredNight
    from rootbound_service.wiring import Service


def dressing_of(service: Service) -> Dressing:
    """Give what computes opened nights; nothing is begun before one is asked for.

    Parameters
    ----------
    service
        The wired service.
    """
    hand = Hand(service.settings)

    def keep(stored: StoredNight, packed: bytes) -> None:
        with service.engine.begin() as conn:
            keep_picture(conn, stored.row.season_id, stored.row.night, packed)

    return Dressing(hand.compute, keep, hand.close, service.clock)
