"""How people are reached: by consent, changed by an adviser within their own account only."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import select

from browser.app_scene import an_app, proof_in
from rootbound_service.store.accounts import put_member
from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.store.schema import contact, field_person, outbox
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.suppressions import suppressed

NUMBER = "(515) 555-0123"
CONSENT = {
    "wording": "May we text you when a field runs short?",
    "consent_how": "by phone",
    "consent_at": "2026-07-08T09:30",
}


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def still(tmp_path_factory):
    """The same, for tests that change nothing."""
    with an_app(tmp_path_factory.mktemp("ways"), computed=False) as opened:
        yield opened


@pytest.fixture
def adviser(scene):
    return scene.client(scene.who["adviser"])


@pytest.fixture
def maren(scene):
    return scene.people["grower"].id


def post(client, path, page="/people", **values):
    return client.post(path, data={"form_token": proof_in(client.get(page).text), **values})


def ways(scene, person_id):
    with scene.service.engine.connect() as conn:
        return contacts_of(conn, contact.c.person_id == person_id)


def add(client, person_id, **values):
    usual = {"channel": "text", "address": NUMBER, "notes": "yes"}
    return post(client, f"/people/{person_id}/ways", **(usual | values))


def test_a_number_is_added_with_words_way_and_time_of_the_consent(scene, adviser, maren):
    assert add(adviser, maren, **CONSENT).status_code == 303
    way = ways(scene, maren)[-1]
    with scene.service.engine.connect() as conn:
        (event,) = consents_of(conn, way.id)
        welcome = conn.execute(select(outbox).where(outbox.c.channel == "text")).one()

    assert (way.address, way.least_rung, way.digest_day) == ("+15155550123", 2, None)
    assert event.at == datetime(2026, 7, 8, 14, 30, tzinfo=UTC)  # 9:30 in Chicago
    assert (event.how, event.wording) == ("by phone", CONSENT["wording"])
    assert welcome.to_address == "+15155550123"
    assert CONSENT["wording"] in adviser.get(f"/people/{maren}").text


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({}, "a number needs consent"),
        ({"wording": "May we?"}, "choose how they agreed"),
        (CONSENT | {"consent_at": "2026-07-08T11:00"}, "give when they agreed"),
        (CONSENT | {"consent_at": "yesterday"}, "give both"),
        (CONSENT | {"address": "12"}, "too few or too many digits"),
        (CONSENT | {"address": ""}, "give an address or a number"),
        (CONSENT | {"from_rung": "9"}, "9 is no rung"),
        (CONSENT | {"channel": "pigeon"}, "choose e-mail or text"),
        ({"channel": "email", "address": "nobody"}, "aria-invalid"),
    ],
)
def test_what_is_wrong_is_said_beside_it_and_nothing_is_kept(still, values, told):
    client, maren = still.client(still.who["adviser"]), still.people["grower"].id
    before = ways(still, maren)
    answer = add(client, maren, **values)

    assert answer.status_code == 422
    assert told in answer.text
    assert values.get("wording", "") in answer.text
    assert ways(still, maren) == before


def test_what_somebody_hears_is_changed_field_by_field(scene, adviser, maren):
    way = ways(scene, maren)[0]
    one = scene.fields[0].id
    values = {"notes": "yes", "from_rung": "3", "digest": "Thursday", "field": str(one)}
    assert post(adviser, f"/people/{maren}/ways/{way.id}", **values).status_code == 303
    now = ways(scene, maren)[0]

    assert (now.least_rung, now.digest_day, now.field_ids) == (3, 3, (one,))
    post(adviser, f"/people/{maren}/ways/{way.id}", digest="never", from_rung="0")
    now = ways(scene, maren)[0]
    assert (now.notes, now.digest_day, now.field_ids) == (False, None, ())


def test_a_field_of_another_grower_cannot_be_chosen(scene, adviser, maren):
    way, others = ways(scene, maren)[0], scene.fields[1].id
    post(adviser, f"/people/{maren}/ways/{way.id}", notes="yes", field=str(others))

    assert ways(scene, maren)[0].field_ids == ()


def test_a_way_is_stopped_and_started_again_with_what_was_said(scene, adviser, maren):
    way = ways(scene, maren)[0]
    path = f"/people/{maren}/ways/{way.id}/stop"
    assert post(adviser, path, scope="all").status_code == 422  # nobody says who asked
    assert post(adviser, path, scope="all", said="on the phone: enough").status_code == 303
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", way.address) == {"all"}
        assert consents_of(conn, way.id)[-1].said == "on the phone: enough"

    assert post(adviser, path, scope="start", said="asked for it again").status_code == 303
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", way.address) == frozenset()


def test_an_address_that_somebody_else_uses_cannot_be_stopped_for_them(scene, adviser, maren):
    theirs = scene.people["other grower"].email
    add(adviser, maren, channel="email", address=theirs)
    way = ways(scene, maren)[-1]
    assert way.address == theirs
    answer = post(adviser, f"/people/{maren}/ways/{way.id}/stop", scope="all", said="they asked")

    assert answer.status_code == 422
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", theirs) == frozenset()


def test_who_is_in_another_account_too_is_reached_at_addresses_that_are_not_shown(
    scene, adviser, maren
):
    add(adviser, maren, **CONSENT)
    with scene.service.engine.begin() as conn:
        put_member(conn, scene.other_account, maren, "grower")
    for word in ("adviser", "other adviser"):
        client = scene.client(scene.who[word])
        assert "555" not in client.get(f"/people/{maren}").text
        assert add(client, maren, channel="email", address="x@y.example").status_code == 403


def test_advisers_and_oneself_are_not_set_by_others(scene, adviser):
    own = scene.people["adviser"].id

    assert "your own page" in adviser.get(f"/people/{own}").text
    assert add(adviser, own, **CONSENT).status_code == 403


def test_the_way_of_somebody_else_is_not_there(scene, adviser, maren):
    others = ways(scene, scene.people["other grower"].id)[0].id

    assert post(adviser, f"/people/{maren}/ways/{others}", digest="never").status_code == 404
    assert ways(scene, scene.people["other grower"].id)[0].digest_day == 0


def test_no_more_than_a_handful_of_ways_is_kept(scene, adviser, maren):
    answers = [
        add(adviser, maren, channel="email", address=f"maren{one}@alder.example").status_code
        for one in range(6)
    ]

    assert answers == [303] * 5 + [422]


def test_a_second_contact_is_named_and_ended(scene, adviser):
    viewer, field = scene.people["viewer"].id, scene.fields[0].id
    path = f"/people/{viewer}/second"

    def named():
        with scene.service.engine.connect() as conn:
            return conn.execute(select(field_person.c.field_id, field_person.c.person_id)).all()

    assert post(adviser, path, field=str(field)).status_code == 303
    assert named() == [(field, viewer)]
    post(adviser, path, field=str(field), end="yes")
    assert named() == []


def test_the_grower_of_a_field_is_not_its_second_contact(scene, adviser, maren):
    path = f"/people/{maren}/second"

    assert post(adviser, path, field=str(scene.fields[0].id)).status_code == 404


def test_a_field_is_silenced_for_somebody_and_heard_of_again(scene, adviser, maren):
    field, today = scene.fields[0].id, scene.clock.now().date()

    def silent():
        with scene.service.engine.connect() as conn:
            return set(silenced_fields(conn, maren, today))

    post(adviser, f"/people/{maren}/silence", field=str(field), days="7")
    assert silent() == {field}
    assert "July 14, 2026" in adviser.get(f"/people/{maren}").text
    post(adviser, f"/people/{maren}/silence", field=str(field), days="0")
    assert silent() == set()


@pytest.mark.parametrize(
    "values", [{"days": "31"}, {"days": "-1"}, {"field": "x"}, {"field": "13"}]
)
def test_a_silence_that_makes_no_sense_is_refused(still, values):
    client, maren = still.client(still.who["adviser"]), still.people["grower"].id
    usual = {"field": str(still.fields[0].id), "days": "3"}

    assert post(client, f"/people/{maren}/silence", **(usual | values)).status_code == 404
