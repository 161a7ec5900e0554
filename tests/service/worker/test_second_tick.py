"""The second contact hears what nobody answered, once, and not what has eased since."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from sqlalchemy import func, select, update

from rootbound_service.records import Acknowledgement, Person, Silence
from rootbound_service.store.acknowledgements import acknowledge
from rootbound_service.store.fields import find_field
from rootbound_service.store.people import add_person
from rootbound_service.store.schema import (
    acknowledgement,
    outbox,
    outbox_image,
    outbox_note,
    risk,
    silence,
    suppression,
)
from rootbound_service.store.seconds import put_second
from rootbound_service.store.silences import put_silence
from rootbound_service.store.suppressions import suppress
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


def test_whoever_silenced_the_field_since_has_read_of_it(rig):
    with rig.service.engine.begin() as conn:
        own = find_field(conn, "Long Acre")
        at = _sent(rig) + timedelta(hours=1)
        put_silence(conn, Silence(own.grower.id, own.id, NIGHT, at, "page"))
    try:
        assert second_tick(rig.service) == 0
    finally:
        with rig.service.engine.begin() as conn:
            conn.execute(silence.delete())


@pytest.fixture
def computed(monkeypatch):
    """Counts how often fields are computed for the tick: it comes every half hour."""
    from rootbound_service import nightly

    calls, whole = [], nightly.decide_all
    monkeypatch.setattr(nightly, "decide_all", lambda *a: calls.append(1) or whole(*a))
    return calls


def test_what_has_eased_by_the_last_night_goes_no_further_and_costs_nothing(rig, computed):
    assert second_tick(rig.service) == 1
    assert computed == [1]
    with rig.service.engine.begin() as conn:
        conn.execute(outbox_note.delete().where(outbox_note.c.outbox_id.in_(_to_second())))
        conn.execute(outbox_image.delete().where(outbox_image.c.outbox_id.in_(_to_second())))
        conn.execute(outbox.delete().where(outbox.c.id.in_(_to_second())))
        kept = conn.scalar(select(func.max(risk.c.night)))
        conn.execute(update(risk).where(risk.c.night == kept).values(rung=3))
    try:
        assert second_tick(rig.service) == 0
        assert computed == [1]
    finally:
        with rig.service.engine.begin() as conn:
            conn.execute(update(risk).where(risk.c.night == kept).values(rung=4))


def test_a_second_contact_who_stopped_is_not_written_to_and_costs_nothing(rig, computed):
    with rig.service.engine.begin() as conn:
        suppress(conn, "email", BEN.email, "all", "stop", rig.clock.now())
    try:
        assert second_tick(rig.service) == 0
        assert computed == []
    finally:
        with rig.service.engine.begin() as conn:
            conn.execute(suppression.delete())


def _to_second():
    return select(outbox.c.id).where(outbox.c.dedupe_key.like("second-%")).scalar_subquery()
