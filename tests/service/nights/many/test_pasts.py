"""Past years behind notes: packed once, kept once, and again where the database lost them."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from sqlalchemy import delete, select

from rootbound_service.nights.many import run
from rootbound_service.nights.many.pasts import empty_kept, forget_unkept, leave, waiting
from rootbound_service.nights.many.run import run_many
from rootbound_service.records import DigRecord
from rootbound_service.store.kept_weather import keep
from rootbound_service.store.schema import kept_weather
from rootbound_service.sweep.executors import InProcess
from rootbound_service.wiring.plant import plant_of
from service.nights.rig import DRY, SOUTH, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 8)
NOW = datetime(YEAR, 7, 8, 9, tzinfo=UTC)
ONE, OTHER = "a" * 32, "b" * 32


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "pasts").mkdir()
    return tmp_path


@pytest.fixture(scope="module")
def rig(tmp_path_factory: pytest.TempPathFactory):
    """One field in a dry year, with much to tell."""
    with a_rig(tmp_path_factory.mktemp("rig"), DRY) as made:
        made.enrol(a_field("Field 1", SOUTH, digs=(DigRecord(date(YEAR, 5, 28), 3),)))
        made.bring(NIGHT)
        made.at(NIGHT)
        yield made


def kept(rig) -> set[str]:
    with rig.service.engine.connect() as conn:
        return set(conn.scalars(select(kept_weather.c.fingerprint)))


def test_past_years_are_packed_once(folder):
    packed: list[str] = []
    for _ in range(2):
        leave(folder, {ONE: lambda: packed.append(ONE) or b"years"})

    assert packed == [ONE]
    assert {name: read() for name, read in waiting(folder, [ONE]).items()} == {ONE: b"years"}


def test_what_is_kept_waits_no_more_and_is_not_packed_again(folder):
    leave(folder, {ONE: lambda: b"years"})
    empty_kept(folder)
    leave(folder, {ONE: lambda: pytest.fail("it was packed again")})

    assert waiting(folder, [ONE]) == {}


def test_a_name_that_the_database_does_not_know_is_forgotten(folder, rig):
    leave(folder, {ONE: lambda: b"years", OTHER: lambda: b"others"})
    empty_kept(folder)
    (folder / "pasts" / f"{ONE}-12345678").write_bytes(b"half")
    with rig.service.engine.begin() as conn:
        keep(conn, ONE, b"years", NOW)
        assert forget_unkept(conn, folder) == 1
        conn.execute(delete(kept_weather).where(kept_weather.c.fingerprint == ONE))

    assert [path.name for path in (folder / "pasts").iterdir()] == [ONE]


def test_past_years_that_a_restored_database_lacks_are_kept_again(rig, monkeypatch):
    own = replace(plant_of(rig.service.parts), executor=InProcess())
    run_many(rig.service.parts, NIGHT, lambda: own, pull=False)
    first = kept(rig)
    record = run.record_many

    def cut_off(*given):
        raise RuntimeError(given[1].fingerprint)

    with monkeypatch.context() as patch:
        patch.setattr(run, "record_many", cut_off)
        with pytest.raises(RuntimeError):
            run_many(rig.service.parts, NIGHT, lambda: own, pull=False)
    with rig.service.engine.begin() as conn:
        conn.execute(delete(kept_weather))
    run_many(rig.service.parts, NIGHT, lambda: own, pull=False)

    assert run.record_many is record
    assert first
    assert kept(rig) == first
