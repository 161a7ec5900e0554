"""What is due now: each tick looks at the clock and at what was done, and does the rest.

The scheduler calls them every few minutes; after an outage the first tick catches up. What
was done is kept in the store, so that a tick that comes twice does nothing twice.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import structlog

from rootbound_service.nights.operator import in_short, operator_message
from rootbound_service.settings import NIGHT_HOUR_UTC
from rootbound_service.store.contacts import contacts_of
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import list_people
from rootbound_service.store.runs import last_run
from rootbound_service.sweep.run import Cancelled
from rootbound_service.telling.digest_day import due_readers
from rootbound_service.worker.begun import in_hand

if TYPE_CHECKING:
    from rootbound_service.nights.parts import NightReport
    from rootbound_service.records import Contact
    from rootbound_service.wiring import Service

_log = structlog.get_logger(__name__)


def night_tick(service: Service) -> NightReport | None:
    """Run tonight's night if it is time and it was not run yet.

    After an outage only tonight is run: every season is computed anew, so the nights that
    were missed would tell nothing that tonight does not.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    NightReport or None
        None where nothing was due.
    """
    tonight = night_now(service.clock.now())
    if not _is_open(service, tonight):
        return None
    return run_tonight(service, tonight)


def run_tonight(service: Service, tonight: date) -> NightReport | None:
    """Run a night without fetching past years, which have a tick of their own.

    Parameters
    ----------
    service
        The wired service.
    tonight
        The night; the operator hears if it breaks off.

    Returns
    -------
    NightReport or None
        None where the worker was to end: the next one goes on with it.
    """
    now, folder = service.clock.now(), service.settings.data_dir
    try:
        with in_hand(folder, tonight, now):
            report = service.nightly(tonight, past=False)
    except Cancelled as left:
        _log.info("night_left", night=tonight.isoformat(), why=str(left))
        return None
    except Exception as error:
        _tell_operator(service, tonight, error)
        raise
    _log.info(
        "night_done",
        night=tonight.isoformat(),
        fields_ok=report.fields_ok,
        fields_failed=report.fields_failed,
        notes=report.notes,
    )
    return report


def digest_tick(service: Service) -> int:
    """Write the letters of readers whose day and morning have come, once tonight is known.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        Letters put in the outbox.
    """
    now = service.clock.now()
    tonight = night_now(now)
    with service.engine.execution_options(ro=True).connect() as conn:
        contacts: dict[int, list[Contact]] = defaultdict(list)
        for one in contacts_of(conn):
            contacts[one.person_id].append(one)
        due = due_readers(list_people(conn), contacts, now)
    if not due or _is_open(service, tonight):
        return 0
    from rootbound_service.weekly import write_digests

    return write_digests(service.parts, tonight, due)


def send_tick(service: Service) -> int:
    """Send what is due; a channel that refuses us is told in the log and left alone for a while.

    Parameters
    ----------
    service
        The wired service.

    Returns
    -------
    int
        Messages sent.
    """
    sent = 0
    while True:
        report = service.send()
        for channel in report.stopped:
            _log.error("channel_stopped", channel=channel)
        sent += report.sent
        if report.sent == 0 or service.leaving():
            return sent


def night_now(now: datetime) -> date:
    """Return the night that is to be run, or was, at a moment.

    Parameters
    ----------
    now
        The moment, aware UTC.
    """
    return (now - timedelta(hours=NIGHT_HOUR_UTC)).date()


def _is_open(service: Service, night: date) -> bool:
    """Tell whether a night is still to be run."""
    with service.engine.execution_options(ro=True).connect() as conn:
        last = last_run(conn, finished_only=True)
    return last is None or last.night < night


def _tell_operator(service: Service, night: date, error: Exception) -> None:
    """Put word of a night that broke off in the outbox, if there is one to put it in."""
    address = service.settings.operator_email
    if not address:
        return
    subject = f"Night of {night}: it could not be run"
    lead = "No field was computed tonight and nobody was told. It is tried again every few minutes."
    message = operator_message(subject, lead, [in_short(error)], address, service.clock.now())
    try:
        with service.engine.begin() as conn:
            enqueue(conn, [message])
    except Exception as second:  # noqa: BLE001  the first error is the one to be raised
        _log.error("operator_not_told", night=night.isoformat(), error=in_short(second))
