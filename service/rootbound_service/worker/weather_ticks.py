"""What the worker does about weather beside its nights: past years, and a second asking."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nights.history import fetch_past
from rootbound_service.nights.many.left import is_left
from rootbound_service.settings import NIGHT_HOUR_UTC
from rootbound_service.store.runs import claim_period, claimed_periods, give_back_period, last_run
from rootbound_service.worker.ticks import night_now, run_tonight

if TYPE_CHECKING:
    from rootbound_service.nights.parts import NightReport
    from rootbound_service.wiring import Service

AT_ONCE = 60
"""Requests of one tick: at one a second it holds up a night by a minute at the most."""
AGAIN_AFTER_H = (2, 4, 8)
"""A night that lacked weather is run again so many hours after its hour: services mend."""
ISSUES_KEPT = timedelta(days=550)
"""This season and the one before: a replay of stored seasons asks what each morning knew."""
RESTS = "past-years-rest"
"""Name under which the hours are kept in which past years are not asked for any more."""
AGAIN = "weather-again"
"""Name under which the hours are kept for which a night was run again."""
_log = structlog.get_logger(__name__)


def past_tick(service: Service) -> int:
    """Fetch a piece of the past years that the fields' cells still lack.

    After a piece of which nothing came it rests until the next full hour: a service that is
    down, or has no such years, is not asked every two minutes for days. It rests, too, while a
    night that was left in the middle is to go on: its parts follow from the weather as it lies.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        Cells that still lack some.
    """
    now = service.clock.now()
    hour = f"{now:%Y-%m-%d %H} h"
    with service.engine.execution_options(ro=True).connect() as conn:
        rests = bool(claimed_periods(conn, RESTS, hour))
    tonight = night_now(now)
    rests = rests or is_left(service.settings.data_dir, tonight, now)
    left, pulled = fetch_past(service.parts, tonight, most=0 if rests else AT_ONCE)
    if rests:
        return left
    if pulled and all(one.failed and not one.new for one in pulled):
        with service.engine.begin() as conn:
            claim_period(conn, RESTS, hour, now)
    for one in pulled:
        _log.info("past_years", source=one.source, requests=one.requests, failed=len(one.failed))
    if pulled:
        _log.info("past_years_left", cells=left)
    return left


def again_tick(service: Service) -> NightReport | None:
    """Run tonight again if it lacked weather and the next hour for it has come.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    NightReport or None
        None where nothing was due.
    """
    now = service.clock.now()
    tonight = night_now(now)
    hours = (now - timedelta(hours=NIGHT_HOUR_UTC)).hour
    due = [after for after in AGAIN_AFTER_H if hours >= after]
    with service.engine.execution_options(ro=True).connect() as conn:
        run = last_run(conn, finished_only=True)
    if not due or run is None or run.night != tonight or run.weather_came:
        return None
    period = f"{tonight} +{due[-1]} h"
    with service.engine.begin() as conn:
        if not claim_period(conn, AGAIN, period, now):
            return None
    report = run_tonight(service, tonight)
    if report is None:  # the worker is to end: the next one goes on with it
        with service.engine.begin() as conn:
            give_back_period(conn, AGAIN, period)
    return report


def shelf_tick(service: Service) -> int:
    """Let go of forecasts that nobody asks for any more.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        How many issues went.
    """
    gone = service.parts.forecasts.prune((service.clock.now() - ISSUES_KEPT).date())
    if gone:
        _log.info("old_forecasts_gone", issues=gone)
    return gone
