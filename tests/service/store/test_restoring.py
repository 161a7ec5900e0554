"""A restore puts all of a backup into an empty place, or leaves the place as it was."""

from __future__ import annotations

import errno
from collections.abc import Iterable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, Table, event, insert, select, text

from rootbound_service.clock import SetClock
from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.store import backup_files, restoring
from rootbound_service.store.backup_steps import one_writer, walk_to
from rootbound_service.store.claiming import claim, drop_pending, retry_now
from rootbound_service.store.engine import make_engine, migrate
from rootbound_service.store.fields import add_field
from rootbound_service.store.migrate import revision_of
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.schema import account, kept_weather, member, operator, outbox, person
from service.store.backup_scene import (  # noqa: F401  (fixtures are found by their names)
    a_folder,
    a_source,
    a_target,
    put_back,
    rows,
    take,
    untouched,
)
from service.store.conftest import Make

LEASE = timedelta(minutes=10)


def held(engine: Engine) -> dict[str, tuple[str, str | None]]:
    """Status and last words of every message by its key."""
    with engine.connect() as conn:
        found = conn.execute(select(outbox.c.dedupe_key, outbox.c.status, outbox.c.last_error))
        return {row.dedupe_key: (row.status, row.last_error) for row in found}


def test_what_waited_or_was_being_sent_is_held_until_an_operator_lets_it_go(
    store: Engine, target: Engine, tmp_path: Path, a_message: Make, clock: SetClock
) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message(dedupe_key=one) for one in ("leased", "waits", "sent")])
        taken = claim(conn, "sender-1", clock.now(), LEASE, 1)
        conn.execute(outbox.update().where(outbox.c.dedupe_key == "sent").values(status="sent"))
    done = put_back(target, take(store, tmp_path / "whole"), tmp_path / "restored")
    clock.set(clock.now() + timedelta(hours=1))  # the lease has run out

    with target.begin() as conn:
        assert claim(conn, "sender-2", clock.now(), LEASE, 9) == []
        assert enqueue(conn, [a_message(dedupe_key="waits")]) == 0
    why = "held: restored from the backup of 2026-07-14 11:00 UTC, may have gone since"
    assert done.held == 2
    assert held(target) == {
        "leased": ("unknown", why),
        "waits": ("unknown", why),
        "sent": ("sent", None),
    }

    with target.begin() as conn:
        assert retry_now(conn, [one.id for one in taken], clock.now(), None) == 1
        assert drop_pending(conn, [2, 3], "told by telephone") == 1
        (again,) = claim(conn, "sender-2", clock.now(), LEASE, 9)
    assert again.dedupe_key == "leased"


def test_what_waited_goes_out_where_that_is_asked_for(
    store: Engine, target: Engine, tmp_path: Path, a_message: Make, clock: SetClock
) -> None:
    with store.begin() as conn:
        enqueue(conn, [a_message()])

    done = put_back(target, take(store, tmp_path / "whole"), tmp_path / "restored", send=True)

    with target.begin() as conn:
        assert [one.dedupe_key for one in claim(conn, "me", clock.now(), LEASE, 9)] == ["note-1"]
    assert done.held == 0


def test_tables_without_rows_make_room(folder: Path, target: Engine, tmp_path: Path) -> None:
    migrate(target)

    put_back(target, folder, tmp_path / "restored" / "data", send=True)

    assert len(rows(target)["field"]) == 3


def test_a_database_with_rows_is_refused_and_keeps_them(
    folder: Path, store: Engine, tmp_path: Path, a_field: Make
) -> None:
    with store.begin() as conn:
        add_field(conn, a_field())
    before = rows(store)

    with pytest.raises(RefusedInput, match=r"it is not empty: there are rows in .*field"):
        put_back(store, folder, tmp_path / "restored")

    assert rows(store) == before
    assert list((tmp_path / "restored").iterdir()) == []


def test_tables_of_somebody_else_are_refused_and_kept(
    folder: Path, empty_store: Engine, tmp_path: Path
) -> None:
    with empty_store.begin() as conn:
        conn.execute(text("CREATE TABLE ledger (id INTEGER)"))

    with pytest.raises(RefusedInput, match="it has tables that are not ours: ledger"):
        put_back(empty_store, folder, tmp_path / "restored")

    with empty_store.connect() as conn:
        assert conn.execute(text("SELECT * FROM ledger")).all() == []
    assert revision_of(empty_store) is None


def test_a_folder_that_holds_something_is_refused_and_kept(
    folder: Path, target: Engine, tmp_path: Path
) -> None:
    mine = tmp_path / "d" / "forecasts" / "mine"
    mine.parent.mkdir(parents=True)
    mine.write_text("mine")

    with pytest.raises(RefusedInput, match="d/forecasts: this folder is not empty"):
        put_back(target, folder, tmp_path / "d")

    assert mine.read_text() == "mine"
    assert untouched(target, tmp_path / "none")


def test_an_older_backup_is_migrated_as_its_database_would_have_been(
    empty_store: Engine, target: Engine, tmp_path: Path
) -> None:
    with one_writer(empty_store) as conn:
        walk_to(conn, "0004_people")
        for one in OLD_ROWS:
            conn.execute(text(one))
    old = take(empty_store, tmp_path / "old.tar")
    assert revision_of(empty_store) == "0004_people"

    put_back(target, old, tmp_path / "restored")
    migrate(empty_store)

    assert revision_of(target) == HEAD
    assert rows(target) == rows(empty_store)
    assert [len(rows(target)[one.name]) for one in (person, account, member)] == [2, 1, 2]


OLD_ROWS = (
    """
    INSERT INTO person (id, name, email, role, units, time_zone, email_key, language) VALUES
    (3, 'Ada Quill', 'ada@quill.example', 'grower', 'us', 'UTC', 'ada@quill.example', 'en'),
    (5, 'Ben Marsh', 'ben@marsh.example', 'adviser', 'us', 'UTC', 'ben@marsh.example', 'en')
    """,
    """
    INSERT INTO field
    (id, grower_id, adviser_id, name, name_key, lat, lon, time_zone, irrigated)
    VALUES (9, 3, 5, 'North Forty', 'north forty', 41.25, -93.5, 'UTC', false)
    """,
)


def test_a_row_that_points_at_nothing_is_refused(
    source: Engine, target: Engine, tmp_path: Path
) -> None:
    with one_writer(source) as conn:
        conn.execute(insert(operator).values(person_id=77))

    with pytest.raises(ServiceError, match=r"points at a row of person|fk_operator_person_id"):
        put_back(target, take(source, tmp_path / "bad"), tmp_path / "restored")

    assert untouched(target, tmp_path / "restored")


@pytest.mark.parametrize("name", ["_take_out", "put_rows", "hold_waiting"])
def test_a_disk_that_fills_leaves_the_place_as_it_was(
    folder: Path, target: Engine, tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> Any:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(backup_files if name == "_take_out" else restoring, name, full)

    with pytest.raises(ServiceError, match=r"No space left on device.*nothing was changed"):
        put_back(target, folder, tmp_path / "restored")

    assert untouched(target, tmp_path / "restored")


def test_rows_that_the_database_gives_back_otherwise_are_not_committed(
    folder: Path, target: Engine, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put = restoring.put_rows

    def put_all_but_one(conn: Connection, table: Table, rows: Iterable[dict[str, Any]]) -> None:
        put(conn, table, list(rows)[: -1 if table.name == "heartbeat" else None])

    monkeypatch.setattr(restoring, "put_rows", put_all_but_one)

    with pytest.raises(ServiceError, match=r"heartbeat\.jsonl\.gz: the database gave other rows"):
        put_back(target, folder, tmp_path / "restored")

    assert untouched(target, tmp_path / "restored")


def test_a_database_that_may_grow_no_further_is_left_as_it_was(
    source: Engine, tmp_path: Path
) -> None:
    with source.begin() as conn:
        conn.execute(kept_weather.update().values(packed=bytes(3_000_000)))
    folder = take(source, tmp_path / "whole")
    engine = make_engine(f"sqlite:///{tmp_path / 'small.db'}")
    migrate(engine)
    before = rows(engine)
    engine.dispose()
    event.listen(engine, "connect", lambda raw, _: raw.execute("PRAGMA max_page_count=1"))

    with pytest.raises(ServiceError, match=r"database or disk is full.*nothing was changed"):
        put_back(engine, folder, tmp_path / "restored")

    assert rows(engine) == before
    engine.dispose()
    assert list((tmp_path / "restored").iterdir()) == []


def test_folders_are_taken_away_again_where_the_database_does_not_commit(
    folder: Path, target: Engine, tmp_path: Path
) -> None:
    def refuse(_: object) -> None:
        raise OSError(errno.EIO, "the disk went away")

    event.listen(target, "commit", refuse)
    with pytest.raises(ServiceError, match="the disk went away"):
        put_back(target, folder, tmp_path / "restored")
    event.remove(target, "commit", refuse)

    assert untouched(target, tmp_path / "restored")
