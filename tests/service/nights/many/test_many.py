"""The night of very many fields finds and tells what the usual one does, field by field."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from rootbound_service.nights.pictures import unpacked_picture
from rootbound_service.store.risk import RISK, ROUNDING
from rootbound_service.store.schema import outbox
from rootbound_service.store.season_pictures import pictures_of
from service.nights.many.weeks import FIELDS, FIRST, LAST, MANY, SEEN, tell
from service.nights.rig import DRY, Rig, a_rig


def live(rig: Rig) -> tuple[dict, list, list, dict]:
    """Enrol, live through the nights, and give rows by field, notes, messages and pictures."""
    rig.enrol(*FIELDS)
    rig.bring(FIRST)
    for step in range(0, (LAST - FIRST).days + 1, 2):
        tonight = FIRST + timedelta(days=step)
        for name, told in SEEN.items():
            tell(rig, name, [one for one in told if 1 <= (tonight - one[1]).days <= 2])
        rig.night(tonight)
    with rig.service.engine.connect() as conn:
        columns = (outbox.c.dedupe_key, outbox.c.subject, outbox.c.text, outbox.c.available_at)
        messages = conn.execute(select(*columns).order_by(outbox.c.dedupe_key)).all()
    notes = [
        (one.night, one.season_id, one.from_rung, one.to_rung, one.reason, one.dedupe_key)
        for one in rig.notes()
    ]
    rows = {one.name: rig.rows(one.name) for one in FIELDS}
    with rig.service.engine.connect() as conn:
        pictures = pictures_of(conn, [found[-1].season_id for found in rows.values()])
    return rows, sorted(notes, key=str), messages, pictures


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory):
    """The same weeks lived through field by field, and chunk by chunk."""
    found = []
    for name, settings in (("one", {}), ("many", MANY)):
        folder: Path = tmp_path_factory.mktemp(name)
        with a_rig(folder, DRY, **settings) as rig:
            found.append(live(rig))
    return found


def test_every_row_is_the_same_but_for_rounding(both):
    (one, *_), (many, *_) = both
    statuses, rungs = set(), set()
    for name, rows in one.items():
        assert [row.night for row in many[name]] == [row.night for row in rows], name
        for row, other in zip(rows, many[name], strict=True):
            statuses.add(row.status)
            rungs.add(row.rung)
            for key in RISK:
                mine, theirs = getattr(row, key), getattr(other, key)
                if key in ROUNDING and mine is not None and theirs is not None:
                    assert theirs == pytest.approx(mine, abs=ROUNDING[key] / 20), (
                        name,
                        row.night,
                        key,
                    )
                elif key != "detail":
                    assert theirs == mine, (name, row.night, key)
    assert statuses == {"watched", "unrated", "waiting", "finished"}
    assert rungs >= {None, 0, 1, 2, 3}


def test_the_same_notes_are_decided(both):
    (_, one, *_), (_, many, *_) = both
    assert many == one
    assert len(one) > 8


def test_the_same_messages_wait(both):
    (_, _, one, _), (_, _, many, _) = both
    assert many == one


def test_an_ample_field_keeps_no_detail_and_a_risen_one_all_of_it(both):
    _, (many, *_) = both
    ample = [row for row in many["Free"] if row.rung == 0 and row.raw_rung == 0]
    assert ample
    assert not any(row.detail for row in ample if row.free_rung == 0)
    risen = [row for row in many["Held"] if row.rung]
    assert risen
    assert all("held" in row.detail for row in risen)


def test_a_season_that_ended_can_be_looked_back_at(both):
    (rows, _, _, one), (_, _, _, many) = both
    cut = rows["Cut"][-1].season_id
    usual, swept = (unpacked_picture(pictures[cut]) for pictures in (one, many))
    days = len(usual.series.dates)

    assert rows["Cut"][-1].status == "finished"
    assert swept.series.dates[:days] == usual.series.dates
    assert days > 50
    assert swept.held_stress[:days] == pytest.approx(usual.held_stress, abs=0.02)
    assert swept.series.rain_mm[:days] == pytest.approx(usual.series.rain_mm, abs=0.1)
