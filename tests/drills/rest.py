"""Lets a place come to rest after a disturbance, as the service would by itself in a day."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import func, select

from drills.processes import Hangs, Running, pause, until
from drills.world import LEASE_OVER, MORNING, NIGHT, Place, at
from rootbound_service.store.engine import make_engine
from rootbound_service.store.heartbeats import heartbeats
from rootbound_service.store.runs import last_run
from rootbound_service.store.schema import outbox
from rootbound_service.worker.ticks import digest_tick, send_tick


def night_is_done(place: Place, night: date = NIGHT) -> bool:
    """Whether a night is finished."""
    with place.service() as service, service.engine.connect() as conn:
        run = last_run(conn, finished_only=True)
    return run is not None and run.night >= night


LAST = "job second contacts"
"""The last tick of a worker's first round over what it computes."""


def run_night(place: Place, night: date = NIGHT) -> Running:
    """Start a worker, and stop it once the night is there and the first round is over."""
    before = seen(place).get(LAST)
    stands = before is not None and before == place.now
    worker = place.start("worker")
    worker.wait_ready()
    until(lambda: not worker.alive or seen(place).get(LAST) != before or (stands and _idle(worker)))
    worker.stop()
    if not night_is_done(place, night):
        raise Hangs(f"the worker ended without its night:\n{worker.text[-3000:]}")
    return worker


def _idle(worker: Running) -> bool:
    """A round by a clock that stands leaves no new mark: then a while after its start is enough."""
    if "worker_started" not in worker.text:
        return False
    pause(3)
    return True


def morning(place: Place, night: date = NIGHT) -> None:
    """The letters of the morning, those of a dead sender as well."""
    moment = at(night, MORNING)
    for _ in range(4):
        place.set(moment)
        with place.service() as service:
            digest_tick(service)  # a worker comes to it a round after the night
            send_tick(service)
        if not open_letters(place):
            return
        moment += LEASE_OVER


def seen(place: Place) -> dict[str, datetime]:
    """When each tick of a worker was done last, by the service's clock."""
    engine = make_engine(place.url)
    with engine.execution_options(ro=True).connect() as conn:
        found = {name: one.at for name, one in heartbeats(conn).items()}
    engine.dispose()
    pause(0.1)
    return found


def open_letters(place: Place, due: datetime | None = None) -> int:
    """Messages that wait, or only those due by then, and those in somebody's hand."""
    pending = outbox.c.status == "pending"
    if due is not None:
        pending &= outbox.c.available_at <= due
    engine = make_engine(place.url)
    with engine.execution_options(ro=True).connect() as conn:
        query = select(func.count()).where(pending | (outbox.c.status == "sending"))
        found = conn.scalar(query) or 0
    engine.dispose()
    return found


def digests(place: Place) -> None:
    """Letters of the week beside those of the night."""
    place.set(at(NIGHT, MORNING))
    with place.service() as service:
        digest_tick(service)
