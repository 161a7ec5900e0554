"""A service with all its public sources on this machine, as the order that comes with it says."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from pathlib import Path

from loopback.climate import ClimatePlay
from loopback.public_server import PublicServer
from rootbound_service.clock import SetClock
from rootbound_service.public.http import Patience
from rootbound_service.settings import load_settings
from rootbound_service.store.fields import add_field, find_field
from rootbound_service.store.risk import risk_history
from rootbound_service.wiring import Service, open_service
from tables import put_tables

OPERATOR = "operator@rootbound.example"
CALM = Patience(timeout_s=5, retries=0, backoff_s=0, backoff_jitter_s=0)
MORNING = time(9, 30)


def env_of(server: PublicServer, folder: Path, **changes: str) -> dict[str, str]:
    """Settings of a small service that asks nobody but the server."""
    return {
        **server.env,
        "ROOTBOUND_DATA_DIR": str(folder),
        "ROOTBOUND_MAIL_FROM": "watch@rootbound.example",
        "ROOTBOUND_OPERATOR_EMAIL": OPERATOR,
        "ROOTBOUND_HISTORY_YEARS": "3",
    } | changes


class PublicRig:
    """The service, its clock and the public services."""

    def __init__(self, service: Service, clock: SetClock, server: PublicServer) -> None:
        self.service, self.clock, self.server = service, clock, server

    def at(self, day: date, hour: time = MORNING) -> None:
        self.clock.set(datetime.combine(day, hour, UTC))
        self.server.now = self.clock.now()

    def night(self, day: date):
        self.at(day)
        return self.service.nightly(day)

    def enrol(self, *fields) -> None:
        with self.service.engine.begin() as conn:
            for field in fields:
                add_field(conn, field)

    def row(self, name: str):
        with self.service.engine.connect() as conn:
            return risk_history(conn, find_field(conn, name).season_id)[-1]


@contextmanager
def a_public_rig(folder: Path, day: date, **changes: str) -> Iterator[PublicRig]:
    """Open a service on the stand-ins; nothing asks twice, nothing waits."""
    clock = SetClock(datetime.combine(day, MORNING, UTC))
    put_tables(folder)
    with (
        PublicServer(ClimatePlay(), day) as server,
        open_service(load_settings(env_of(server, folder, **changes)), clock, CALM) as service,
    ):
        yield PublicRig(service, clock, server)
