"""The drill: nights after a restore find and tell what they would have without it."""

from __future__ import annotations

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
BEFORE, CLIMB, LAST = date(YEAR, 6, 28), date(YEAR, 7, 2), date(YEAR, 7, 8)
WITH_WEATHER = ("forecasts", "weather", "answers", "files")


def told(rig: Rig) -> list[Any]:
    """Every message as it would be sent, pictures and all."""
    columns = [one for one in outbox.c if one.name not in {"status", "last_error"}]
    with rig.service.engine.connect() as conn:
        messages = conn.execute(select(*columns).order_by(outbox.c.id)).all()
        return [*messages, *conn.execute(select(outbox_image).order_by(*outbox_image.c)).all()]


def found(rig: Rig) -> list[Any]:
    """What the nights left: every row of risk, every note with its evidence, every message."""
    return [[rig.rows(one) for one in NAMES], rig.notes(), told(rig)]


@pytest.mark.parametrize("folders", [WITH_WEATHER, WITH_WEATHER[:1]], ids=["weather", "bare"])
def test_the_nights_after_a_restore_are_those_without_it(
    target: Engine, tmp_path: Path, folders: tuple[str, ...]
) -> None:
    lived, restored = tmp_path / "lived", tmp_path / "restored"
    with a_rig(lived, DRY) as rig:
        rig.enrol(
            a_field(NAMES[0]), a_field(NAMES[1], NORTH, irrigated=True), a_field(NAMES[2], digs=())
        )
        rig.nights(BEFORE, CLIMB)
        rig.send()
        back_up(rig.service.engine, tmp_path / "kept.tar", rig.clock.now(), lived, folders)
        at_backup = found(rig)
        rig.nights(CLIMB + timedelta(days=1), LAST)
        without = found(rig)

    put_back(target, tmp_path / "kept.tar", restored)
    url = target.url.render_as_string(hide_password=False)
    with a_rig(restored, DRY, ROOTBOUND_DATABASE_URL=url) as rig:
        assert found(rig) == at_backup
        rig.nights(CLIMB + timedelta(days=1), LAST)
        assert found(rig) == without

    assert len(at_backup[1]) < len(without[1])
    assert {len(rows) for rows in without[0]} == {(LAST - BEFORE).days + 1}
