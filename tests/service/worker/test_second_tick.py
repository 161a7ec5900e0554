"""The second contact hears what nobody answered, once, and not what has eased since."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy import select, update

from rootbound_service.records import Acknowledgement, Person
from rootbound_service.store.acknowledgements import acknowledge
from rootbound_service.store.fields import find_field
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import acknowledgement, outbox, outbox_image, outbox_note
from rootbound_service.store.seconds import put_second
from rootbound_service.worker.second_tick import second_tick
from service.nights.rig import DRY, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 28)
"""The dry spell has lasted a month: the field is failing."""
BEN = Person("Ben Marsh", "ben@marsh.example", "grower", "metric", "America/Denver")


@pytest.fixture(scope="module")
def dry(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("second"), DRY) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.bring(NIGHT - timedelta(days=3))
        for back in (3, 2, 1, 0):
            rig.night(NIGHT - timedelta(days=back))
        yield rig


@pytest.fixture
def rig(dry):
    """A failing field whose grower was written to 49 hours ago, and whose second contact is Ben."""
    if dry.row("Long Acre").rung != 4:
        pytest.fail(f"the scene is not as it should be: {dry.row('Long Acre').rung}")
    assert any(one.to_rung == 4 for one in dry.notes())
    with dry.service.engine.begin() as conn:
        mine = select(outbox.c.id).where(outbox.c.dedupe_key.like("second-%")).scalar_subquery()
        for table in (outbox_note, outbox_image):
            conn.execute(table.delete().where(table.c.outbox_id.in_(mine)))
        conn.execute(outbox.delete().where(outbox.c.dedupe_key.like("second-%")))
        ben, field = add_person(conn, BEN), find_field(conn, "Long Acre")
        put_second(conn, field.id, ben.id)
        conn.execute(update(outbox).values(status="sent", sent_at=_sent(dry)))
    dry.clock.set(datetime.combine(NIGHT, time(15), UTC))
    return dry


def _sent(rig):
    return datetime.combine(NIGHT, time(14), UTC) - timedelta(hours=48)


def to_ben(rig):
    with rig.service.engine.connect() as conn:
        mine = outbox.c.to_address == BEN.email
        return conn.execute(select(outbox).where(mine)).all()


def test_what_nobody_answered_in_two_days_goes_to_the_second_contact_once(rig):
    assert second_tick(rig.service) == 1
    assert second_tick(rig.service) == 0

    (told,) = to_ben(rig)
    assert told.subject.startswith("Not answered for two days: ")
    assert "You are the second contact of this field of Maren Holt." in told.text
    assert "mm" in told.text  # Ben reads metric
    assert told.quiet_zone == "America/Denver"


def test_before_two_days_have_passed_nobody_else_hears(rig):
    with rig.service.engine.begin() as conn:
        conn.execute(update(outbox).values(sent_at=_sent(rig) + timedelta(hours=2)))

    assert second_tick(rig.service) == 0


def test_a_note_that_was_seen_goes_no_further(rig):
    with rig.service.engine.begin() as conn:
        own = find_field(conn, "Long Acre")
        at = _sent(rig) + timedelta(hours=1)
        acknowledge(conn, [Acknowledgement(own.grower.id, own.season_id, at, "page")])
    try:
        assert second_tick(rig.service) == 0
    finally:
        with rig.service.engine.begin() as conn:
            conn.execute(acknowledgement.delete())
