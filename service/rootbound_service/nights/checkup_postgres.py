"""Whether a PostgreSQL server is one the service can rely on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import text

from rootbound_service.public.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Engine

OLDEST = 13
"""The oldest that we run our tests on."""
EACH, PROCESSES = 15, 2
"""Connections one process may hold (a pool of 5, and 10 beyond it); a worker, and a web."""
MOST_OFF = timedelta(minutes=2)
FACTS = """
SELECT current_setting('server_version_num')::int AS version,
       clock_timestamp() AS at,
       current_setting('max_connections')::int AS most,
       current_setting('superuser_reserved_connections')::int AS kept_back
"""


@dataclass(frozen=True, slots=True)
class ServerFacts:
    """What a server says of itself."""

    version: int
    """As ``server_version_num``: 150004 is 15.4."""
    at: datetime
    most: int
    """Connections it takes in all."""
    kept_back: int = 3
    """Of those, for its administrators."""


def check_postgres(facts: ServerFacts, ours: datetime) -> list[Finding]:
    """Look at a server.

    Parameters
    ----------
    facts
        What it says of itself.
    ours
        This machine's time at the same moment, aware.
    """
    return [_version(facts.version), _clock(facts.at, ours), _connections(facts)]


def look_at_postgres(engine: Engine, now: Callable[[], datetime]) -> list[Finding]:
    """Read what a server says of itself, and look at it.

    Parameters
    ----------
    engine
        The database; of another kind nothing is found.
    now
        This machine's time, aware.
    """
    if engine.dialect.name != "postgresql":
        return []
    with engine.execution_options(ro=True).connect() as conn:
        row = conn.execute(text(FACTS)).one()
    return check_postgres(ServerFacts(*row), now())


def _version(number: int) -> Finding:
    major, minor = divmod(number, 10000)
    said = f"{major}.{minor}"
    if major >= OLDEST:
        return Finding("PostgreSQL", well=True, said=said)
    return Finding(
        "PostgreSQL",
        well=False,
        said=f"{said} is too old; {OLDEST} or newer is needed",
        why="nobody mends it any more, and we do not try our code on it",
        mend="move the database to a newer server: pg_dump there, pg_restore here",
    )


def _clock(theirs: datetime, ours: datetime) -> Finding:
    off = abs(ours - theirs)
    if off <= MOST_OFF:
        said = f"agrees with this machine's to {off.total_seconds():.0f} s"
        return Finding("server's clock", well=True, said=said)
    return Finding(
        "server's clock",
        well=False,
        said=f"differs from this machine's by {off.total_seconds() / 60:.0f} min",
        why="senders on several hosts would take one another's messages, or leave them",
        mend="let NTP set it on both",
        run="sudo timedatectl set-ntp true",
    )


def _connections(facts: ServerFacts) -> Finding:
    ours, need = facts.most - facts.kept_back, EACH * PROCESSES
    if ours >= need:
        return Finding("connections", well=True, said=f"{ours}; {need} are needed at the most")
    return Finding(
        "connections",
        well=False,
        said=f"{ours} are for us, and a worker with its web may take {need}",
        why="the pages then fail just when a night is written",
        mend="let in more, then restart the server",
        run=f"psql -c 'ALTER SYSTEM SET max_connections = {need + facts.kept_back}'",
    )
