"""A backup holds every row as of one moment, and goes into either database to the digit."""

from __future__ import annotations

import errno
import stat
import tarfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, func, select

from rootbound_service.errors import RefusedInput, ServiceError
from rootbound_service.records import FieldRecord
from rootbound_service.store import backing_up, backup_folder, backup_rows
from rootbound_service.store.backing_up import back_up
from rootbound_service.store.backup_archive import open_archive
from rootbound_service.store.backup_check import check
from rootbound_service.store.engine import make_engine
from rootbound_service.store.fields import add_field, find_field
from rootbound_service.store.migrate import revision_of
from rootbound_service.store.migrations import HEAD
from rootbound_service.store.schema import field, metadata, season
from service.store.backup_scene import (  # noqa: F401  (fixtures are found by their names)
    ISSUE,
    TAKEN,
    a_target,
    put_back,
    rows,
    take,
)
from service.store.conftest import Make
from service.store.rows_of_all import MANY, fill_every_table

NAMES = ["whole", "whole.tar"]


@pytest.mark.parametrize("name", NAMES)
def test_every_row_of_every_table_goes_from_either_database_into_either(
    store: Engine, target: Engine, tmp_path: Path, name: str
) -> None:
    with store.begin() as conn:
        fill_every_table(conn)

    place = take(store, tmp_path / "out" / name)
    done = put_back(target, place, tmp_path / "data", send=True)

    assert rows(target) == rows(store)
    assert {len(one) for one in rows(target).values()} == {MANY}
    assert revision_of(target) == HEAD
    assert (done.manifest.rows, done.manifest.taken_at) == (MANY * len(metadata.tables), TAKEN)
    assert (tmp_path / "data" / ISSUE).read_bytes() == b"an issue"
    assert sorted(one.name for one in (tmp_path / "out").iterdir()) == ["data", name]


def test_what_is_added_afterwards_gets_numbers_behind_those_restored(
    store: Engine, target: Engine, tmp_path: Path, a_field: Make
) -> None:
    with store.begin() as conn:
        first = add_field(conn, a_field())
    put_back(target, take(store, tmp_path / "whole"), tmp_path / "restored")

    with target.begin() as conn:
        second = add_field(conn, a_field(name="South Forty"))

    assert second.season_id == (first.season_id or 0) + 1


def test_what_another_has_half_done_is_not_in_it(
    store: Engine, tmp_path: Path, a_field: Make
) -> None:
    with store.begin() as conn:
        add_field(conn, a_field())
    other = make_engine(store.url.render_as_string(hide_password=False))
    with other.begin() as conn:
        add_field(conn, a_field(name="South Forty"))
        half = take(store, tmp_path / "half")
    whole = take(store, tmp_path / "then")
    other.dispose()

    assert _counts(half) == {"field": 1, "season": 1}
    assert _counts(whole) == {"field": 2, "season": 2}


def test_what_others_commit_between_two_tables_is_wholly_out(
    store: Engine, tmp_path: Path, a_field: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = make_engine(store.url.render_as_string(hide_password=False))
    read = backup_rows.lines_of

    def read_while_others_write(conn: Any, table: Any) -> Iterator[bytes]:
        with other.begin() as writing:
            add_field(writing, a_field(name=f"Field while {table.name} was read"))
        yield from read(conn, table)

    monkeypatch.setattr(backing_up, "lines_of", read_while_others_write)
    with store.begin() as conn:
        add_field(conn, a_field())

    found = _counts(take(store, tmp_path / "whole"))

    with store.connect() as conn:
        after = conn.scalar(select(func.count()).select_from(field))
    other.dispose()
    # PostgreSQL's moment is that of the first look, before the first table is read
    assert found == {"field": 1, "season": 1}
    assert after == 1 + len(metadata.tables)


def test_a_backup_is_for_its_owner_alone_and_names_no_place_or_password(
    store: Engine, tmp_path: Path
) -> None:
    folder, tar = take(store, tmp_path / "whole"), take(store, tmp_path / "whole.tar")

    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert stat.S_IMODE(tar.stat().st_mode) == 0o600
    with tarfile.open(tar) as opened:
        assert {(one.uname, one.uid, one.mode) for one in opened} == {("", 0, 0o600)}
    said = (folder / "manifest.json").read_text("utf-8")
    assert str(tmp_path) not in said
    assert store.url.password is None or store.url.password not in said


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_is_taken_is_refused_and_left_as_it_was(
    store: Engine, tmp_path: Path, name: str
) -> None:
    (tmp_path / name).write_text("something else")

    with pytest.raises(RefusedInput, match="something is there already; give a new name"):
        take(store, tmp_path / name)

    assert (tmp_path / name).read_text() == "something else"


def test_a_database_that_is_not_there_is_refused_and_not_made(tmp_path: Path) -> None:
    engine = make_engine(f"sqlite:///{tmp_path / 'none' / 'rootbound.db'}")

    with pytest.raises(RefusedInput, match="there are no tables of ours to back up"):
        back_up(engine, tmp_path / "whole", TAKEN, tmp_path)

    engine.dispose()
    assert not (tmp_path / "none" / "rootbound.db").exists()


def test_a_database_without_our_tables_is_refused(empty_store: Engine, tmp_path: Path) -> None:
    with pytest.raises(RefusedInput, match="there are no tables of ours to back up"):
        back_up(empty_store, tmp_path / "whole", TAKEN, tmp_path)


@pytest.mark.parametrize("where", ["lines_of", "copy_folder", "files_of", "_to_disk"])
def test_a_disk_that_fills_leaves_nothing_behind_and_is_said(
    store: Engine, tmp_path: Path, where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> Any:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(backup_folder if where == "_to_disk" else backing_up, where, full)

    with pytest.raises(ServiceError, match=r"out/whole\.tar: .*No space left on device"):
        take(store, tmp_path / "out" / "whole.tar")

    assert [one.name for one in (tmp_path / "out").iterdir()] == ["data"]


def test_what_is_half_written_in_a_folder_is_left_out(store: Engine, tmp_path: Path) -> None:
    folder = tmp_path / "data" / "forecasts"
    folder.mkdir(parents=True)
    (folder / ".x8d2.part").write_text("half")

    kept = back_up(store, tmp_path / "whole", TAKEN, tmp_path / "data", ["forecasts", "files"])

    assert kept.folders == ("forecasts",)
    assert [one.name for one in kept.files if one.name.startswith("files/")] == []


def _counts(place: Path) -> dict[str, int]:
    with open_archive(place) as archive:
        check(archive)
        found = {one.name: one.rows for one in archive.manifest.tables}
    return {name: found[name] for name in (field.name, season.name)}


def test_a_season_is_the_same_record_after_the_journey(
    store: Engine, target: Engine, tmp_path: Path, a_field: Make
) -> None:
    record: FieldRecord = a_field(name="Ünter der Ähre", lat=41.1 + 1e-13)
    with store.begin() as conn:
        stored = add_field(conn, record)
    put_back(target, take(store, tmp_path / "whole.tar"), tmp_path / "restored")

    with target.connect() as conn:
        assert find_field(conn, record.name) == stored
