"""Coming in by an invitation: shown first, accepted by a press, good once, for two weeks."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from browser.app_scene import WHEN, an_app
from rootbound_service.store.accounts import members_of, memberships
from rootbound_service.store.invitations import Guest, invite
from rootbound_service.store.schema import person


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture
def invited(scene):
    """Invites somebody and gives the path of the link."""

    def go(name="Nell Orme", email="nell@b.example", role="grower"):
        with scene.service.engine.begin() as conn:
            by = scene.people["adviser"].id
            number = invite(conn, scene.account, by, Guest(name, email, role), WHEN)
        return f"/join/{scene.app.state.desk.links.token('join', number)}"

    return go


def roles(scene):
    with scene.service.engine.connect() as conn:
        return {one.email: may for one, may in members_of(conn, scene.account)}


def test_the_page_says_who_invites_into_what_and_as_what(scene, invited):
    text = scene.client().get(invited()).text

    assert "Ines Varga" in text
    assert "Varga advice" in text
    assert "a grower, who sees their own fields" in text


def test_looking_accepts_nothing(scene, invited):
    path = invited()
    for _ in range(3):
        assert scene.client().get(path).status_code == 200

    assert "nell@b.example" not in roles(scene)


def test_a_press_lets_somebody_new_in_and_signs_them_in(scene, invited):
    client, path = scene.client(), invited()
    answer = client.post(path, data={"units": "metric", "time_zone": "Europe/Berlin"})

    assert (answer.status_code, answer.headers["location"]) == (303, "/today")
    assert "httponly" in answer.headers["set-cookie"].lower()
    assert "Varga advice" in client.get("/me").text
    assert roles(scene)["nell@b.example"] == "grower"
    with scene.service.engine.connect() as conn:
        new = conn.execute(select(person).where(person.c.email_key == "nell@b.example")).one()
    assert (new.units, new.time_zone, new.role) == ("metric", "Europe/Berlin", "grower")


def test_a_link_works_once(scene, invited):
    path = invited()
    scene.client().post(path)

    assert scene.client().post(path).status_code == 410
    assert scene.client().get(path).status_code == 410


def test_a_link_is_worth_nothing_after_two_weeks(scene, invited):
    path = invited()
    scene.clock.set(WHEN + timedelta(days=14, seconds=1))

    assert scene.client().post(path).status_code == 410


def test_a_made_up_link_lets_nobody_in(scene, invited):
    path = invited()

    assert scene.client().get(f"{path[:-4]}aaaa").status_code == 410
    assert scene.client().post("/join/1").status_code == 410


def test_a_link_to_sign_in_is_no_invitation(scene, invited):
    invited()
    token = scene.app.state.desk.links.token("enter", 1)

    assert scene.client().post(f"/join/{token}").status_code == 410


def test_another_site_cannot_press_the_button(scene, invited):
    path = invited()
    answer = scene.client().post(path, headers={"sec-fetch-site": "cross-site"})

    assert answer.status_code == 403
    assert "nell@b.example" not in roles(scene)


def test_somebody_known_comes_into_a_further_account_and_reads_as_before(scene, invited):
    known = scene.people["other grower"]
    client = scene.client()
    text = client.get(path := invited(known.name, known.email, "viewer")).text
    client.post(path, data={"units": "metric", "time_zone": "Europe/Berlin"})
    with scene.service.engine.connect() as conn:
        row = conn.execute(select(person).where(person.c.id == known.id)).one()
        accounts = [(one.account_id, one.role) for one in memberships(conn, known.id)]

    assert "time_zone" not in text
    assert (row.units, row.time_zone) == (known.units, known.time_zone)
    assert accounts == [(scene.account, "viewer"), (scene.other_account, "grower")]


def test_an_invitation_takes_nothing_away_from_an_adviser(scene, invited):
    one = scene.people["adviser"]
    scene.client().post(invited(one.name, one.email, "viewer"))

    assert roles(scene)[one.email] == "adviser"
