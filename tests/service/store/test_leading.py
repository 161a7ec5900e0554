"""One process leads a database; the next takes over when it is gone, however it went."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from rootbound_service.store.engine import make_engine
from rootbound_service.store.leading import _ServerLead, leading, try_lead

LEADER = Path(__file__).with_name("leader.py")
Start = Callable[[], "subprocess.Popen[str]"]


@pytest.fixture
def start(store: Engine) -> Iterator[Start]:
    """Start a process that wants to lead; whatever is left of them is ended."""
    with ExitStack() as ends:

        def begin() -> subprocess.Popen[str]:
            one = subprocess.Popen(
                [sys.executable, str(LEADER)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
            )
            ends.callback(_end, one)
            _write(one, json.dumps({"url": store.url.render_as_string(hide_password=False)}))
            return one

        yield begin


def _end(one: subprocess.Popen[str]) -> None:
    one.kill()
    one.communicate()


def _write(one: subprocess.Popen[str], line: str) -> None:
    assert one.stdin
    one.stdin.write(line + "\n")
    one.stdin.flush()


def _says(one: subprocess.Popen[str], wanted: str) -> bool:
    """Read until a line is said; False where the process ends without it."""
    assert one.stdout
    return any(line.strip() == wanted for line in one.stdout)


def _next(one: subprocess.Popen[str]) -> str:
    """Give the next line that is not the notice of an older SQLite."""
    assert one.stdout
    return next(line.strip() for line in one.stdout if line.strip() != "sqlite_rollback_journal")


def test_a_second_process_waits_and_takes_over_from_one_that_was_killed(start: Start) -> None:
    first = start()
    assert _next(first) == "leads"
    second = start()
    assert _next(second) == "worker_waits"

    first.kill()

    assert _next(second) == "worker_takes_over"
    assert _next(second) == "leads"


def test_a_second_process_takes_over_from_one_that_ended(start: Start) -> None:
    first, second = start(), None
    assert _says(first, "leads")
    second = start()
    assert _says(second, "worker_waits")

    _write(first, "stop")

    assert _says(first, "ended")
    assert _says(second, "leads")


def test_one_that_waits_can_be_told_to_end(start: Start) -> None:
    first = start()
    assert _says(first, "leads")
    second = start()
    assert _says(second, "worker_waits")

    _write(second, "stop")

    assert _next(second) == "ended"


def test_of_two_takers_in_one_process_only_one_leads(store: Engine) -> None:
    with leading(store) as one:
        assert one is not None
        assert one.holds()
        with leading(store) as other:
            assert other is None
        assert one.holds()
    assert not one.holds()

    with leading(store) as again:
        assert again is not None


def test_who_leads_one_database_keeps_nobody_from_another(store: Engine, tmp_path: Path) -> None:
    other = make_engine(f"sqlite:///{tmp_path / 'other' / 'rootbound.db'}")
    with leading(store) as here, leading(other) as there:
        assert here is not None
        assert there is not None
    other.dispose()


def test_a_lead_whose_connection_the_server_ended_is_lost_for_good(store: Engine) -> None:
    if store.dialect.name != "postgresql":
        pytest.skip("SQLite has no connection to lose")
    lead = try_lead(store)
    assert lead is not None
    with store.begin() as conn:
        query = text(
            "SELECT pg_terminate_backend(pid) FROM pg_locks "
            "WHERE locktype = 'advisory' AND pid <> pg_backend_pid() "
            "AND classid = 7266825 AND objid = (hashtext(current_schema())::bigint & 4294967295)"
        )
        assert conn.scalars(query).all() == [True]

    assert not lead.holds()
    assert not lead.holds()
    lead.give_up()
    with leading(store) as again:
        assert again is not None


def test_a_lead_whose_file_was_taken_away_is_lost(store: Engine) -> None:
    if store.dialect.name != "sqlite":
        pytest.skip("PostgreSQL locks no file")
    lead = try_lead(store)
    assert lead is not None

    Path(f"{store.url.database}.lead").unlink()

    assert not lead.holds()
    with leading(store) as again:
        assert again is not None
    lead.give_up()


def test_nobody_else_may_read_the_file(store: Engine) -> None:
    if store.dialect.name != "sqlite":
        pytest.skip("PostgreSQL locks no file")
    with leading(store):
        assert Path(f"{store.url.database}.lead").stat().st_mode & 0o077 == 0


def test_a_lead_that_was_given_up_is_free_at_once(store: Engine) -> None:
    if store.dialect.name == "sqlite":
        pytest.skip("a file's lock goes with its handle")
    held = text("SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND pid = :pid")
    for _ in range(30):
        lead = try_lead(store)
        assert isinstance(lead, _ServerLead)
        pid = lead._conn.scalar(text("SELECT pg_backend_pid()"))
        with store.connect() as other:
            assert other.scalar(held, {"pid": pid}) == 1
            lead.give_up()
            assert other.scalar(held, {"pid": pid}) == 0
