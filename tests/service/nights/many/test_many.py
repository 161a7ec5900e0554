"""The night of very many fields finds and tells what the usual one does, field by field."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select

from rootbound_service.records import DigRecord, ObservationRecord
from rootbound_service.store.fields import find_field
from rootbound_service.store.observations import add_observation
from rootbound_service.store.risk import RISK, ROUNDING
from rootbound_service.store.schema import outbox
from service.nights.rig import DRY, NORTH, YEAR, Rig, a_field, a_rig

FIRST, LAST = date(YEAR, 6, 27), date(YEAR, 8, 8)
MANY = {"ROOTBOUND_SWEEP_FROM_FIELDS": "0", "ROOTBOUND_SWEEP_WORKERS": "1"}
DUG = date(YEAR, 5, 28)
FIELDS = (
    a_field("Held"),
    a_field("Shiny", NORTH, digs=(DigRecord(DUG, 3, plants=6),)),
    a_field("Free", digs=(DigRecord(DUG, 0, plants=6),)),
    a_field("Undug", NORTH, digs=()),
    a_field("Late", planted=date(YEAR, 6, 26), digs=()),
    a_field("Watered", irrigated=True),
    a_field("Gauged", NORTH),
    a_field("Seen"),
    a_field("Cut", NORTH),
    a_field("Pan", digs=(DigRecord(DUG, 1, plants=5, pan_class=3, pan_depth_cm=18.0),)),
    a_field("Old", planted=date(YEAR - 1, 4, 28), digs=()),
)
SEEN = {
    "Watered": [("irrigation", date(YEAR, 7, 8), 30.0), ("irrigation", date(YEAR, 7, 20), 35.0)],
    "Gauged": [("rain", date(YEAR, 7, 10), 22.0)],
    "Seen": [("rolled", date(YEAR, 7, 9), 1.0)],
    "Cut": [("harvest", date(YEAR, 7, 18), None)],
}


def live(rig: Rig) -> tuple[dict, list, list]:
    """Enrol, live through the nights, and give rows by field, notes and messages."""
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
    return {one.name: rig.rows(one.name) for one in FIELDS}, sorted(notes, key=str), messages


def tell(rig: Rig, name: str, told: list) -> None:
    """Store what was seen on a field."""
    with rig.service.engine.begin() as conn:
        season = find_field(conn, name).season_id
        for kind, day, value in told:
            at = datetime(YEAR, day.month, day.day, 22, tzinfo=UTC)
            add_observation(conn, season, ObservationRecord(kind, day, value, "Ines", at))


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
    (one, _, _), (many, _, _) = both
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
    (_, one, _), (_, many, _) = both
    assert many == one
    assert len(one) > 8


def test_the_same_messages_wait(both):
    (_, _, one), (_, _, many) = both
    assert many == one


def test_an_ample_field_keeps_no_detail_and_a_risen_one_all_of_it(both):
    _, (many, _, _) = both
    ample = [row for row in many["Free"] if row.rung == 0 and row.raw_rung == 0]
    assert ample
    assert not any(row.detail for row in ample if row.free_rung == 0)
    risen = [row for row in many["Held"] if row.rung]
    assert risen
    assert all("held" in row.detail for row in risen)
