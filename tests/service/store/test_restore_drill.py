"""The drill: nights after a restore find and tell what they would have without it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, select

from rootbound_service.store.backing_up import back_up
from rootbound_service.store.schema import outbox, outbox_image
from service.nights.rig import DRY, NORTH, YEAR, Rig, a_field, a_rig
from service.store.backup_scene import (  # noqa: F401  (fixtures are found by their names)
    a_target,
    put_back,
)

NAMES = ("Long Acre", "Church Forty", "Undug")
BEFORE, CLIMB, LAST = date(YEAR, 6, 29), date(YEAR, 7, 2), date(YEAR, 7, 5)
FOLDERS = {"weather": ("forecasts", "weather", "answers", "files"), "bare": ("forecasts",)}


@dataclass(frozen=True)
class Lived:
    """Nights without a restore: the folder of both backups, what they left then, and at the end."""

    folder: Path
    at_backup: list[Any]
    without: list[Any]


def told(rig: Rig) -> list[Any]:
    """Every message as it would be sent, pictures and all."""
    columns = [one for one in outbox.c if one.name not in {"status", "last_error"}]
    with rig.service.engine.connect() as conn:
        messages = conn.execute(select(*columns).order_by(outbox.c.id)).all()
        return [*messages, *conn.execute(select(outbox_image).order_by(*outbox_image.c)).all()]


def found(rig: Rig) -> list[Any]:
    """What the nights left: every row of risk, every note with its evidence, every message."""
    return [[rig.rows(one) for one in NAMES], rig.notes(), told(rig)]


@pytest.fixture(scope="module")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Lived:
    """Live through the climb, back up with either choice of folders, and live on."""
    kept = tmp_path_factory.mktemp("kept")
    data_dir = tmp_path_factory.mktemp("lived")
    with a_rig(data_dir, DRY) as rig:
        rig.enrol(
            a_field(NAMES[0]), a_field(NAMES[1], NORTH, irrigated=True), a_field(NAMES[2], digs=())
        )
        rig.nights(BEFORE, CLIMB)
        rig.send()
        for name, folders in FOLDERS.items():
            back_up(rig.service.engine, kept / f"{name}.tar", rig.clock.now(), data_dir, folders)
        at_backup = found(rig)
        rig.nights(CLIMB + timedelta(days=1), LAST)
        return Lived(kept, at_backup, found(rig))


@pytest.mark.parametrize("folders", FOLDERS)
def test_the_nights_after_a_restore_are_those_without_it(
    target: Engine, tmp_path: Path, lived: Lived, folders: str
) -> None:
    restored = tmp_path / "restored"
    put_back(target, lived.folder / f"{folders}.tar", restored)
    url = target.url.render_as_string(hide_password=False)
    with a_rig(restored, DRY, ROOTBOUND_DATABASE_URL=url) as rig:
        assert found(rig) == lived.at_backup
        rig.nights(CLIMB + timedelta(days=1), LAST)
        assert found(rig) == lived.without


def test_notes_are_told_before_the_backup_and_after_it(lived: Lived) -> None:
    assert 0 < len(lived.at_backup[1]) < len(lived.without[1])
    assert 0 < len(lived.at_backup[2]) < len(lived.without[2])
    assert {len(rows) for rows in lived.without[0]} == {(LAST - BEFORE).days + 1}
