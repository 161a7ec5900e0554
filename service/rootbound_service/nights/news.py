"""News of the roots themselves: grown free once a season, or held after all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from rootbound_rules.risk.growing_free import grown_free, held_again
from rootbound_rules.risk.ladder import Reason

if TYPE_CHECKING:
    from rootbound_service.nights.parts import Computed
    from rootbound_service.nights.remembered import Remembered


@dataclass(frozen=True, slots=True)
class RootNews:
    """What people are told of the roots tonight, and what they were told by then."""

    news: Reason | None
    said_free: bool
    took_back: bool


def root_news(
    computed: Computed, last: Remembered, night: date, rung: int, free_rung: int
) -> RootNews:
    """Decide what is news of the roots of a field that was dug.

    Good news comes once a season. If another dig, or a correction, finds the roots held
    after all, that is told, once: people must not rely on what no longer holds. It does not
    make room for a second piece of good news; whatever the roots do later shows in the rungs.

    Parameters
    ----------
    computed
        The field with its outlook.
    last
        What was said before.
    night
        Tonight.
    rung, free_rung
        Of both twins tonight.
    """
    told = RootNews(None, last.said_free, last.took_back)
    if computed.outlook is None or computed.status != "watched":
        return told
    if not last.said_free:
        if grown_free(computed.outlook, night, rung, free_rung):
            return RootNews(Reason.GROWN_FREE, said_free=True, took_back=False)
        return told
    if not last.took_back and held_again(computed.outlook, night):
        return RootNews(Reason.HELD_AGAIN, said_free=True, took_back=True)
    return told
