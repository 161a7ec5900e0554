"""A session ends: by signing out, unused, after a season, and when its person leaves the account.

OWASP ASVS 4.0.3, 3.3.1 (signing out), 3.3.2 (idle and whole length), 3.7.1 and 4.1.1.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from browser.app_scene import an_app, proof_in
from rootbound_service.store.accounts import drop_member
from rootbound_service.store.web_sessions import IDLE, LASTS
from rootbound_service.web.access.reader import PLAIN_COOKIE


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


def test_signing_out_ends_the_session_here_and_nowhere_else(scene):
    here, there = scene.client(scene.sign_in("adviser")), scene.client(scene.sign_in("adviser"))
    proof = proof_in(here.get(f"/fields/{scene.fields[0].id}").text)
    answer = here.post("/sign-out", data={"form_token": proof})

    assert answer.status_code == 303
    assert f'{PLAIN_COOKIE}=""' in answer.headers["set-cookie"]
    here.cookies.set(PLAIN_COOKIE, scene.who["adviser"].key + "x")
    assert here.get("/today").status_code == 303
    assert there.get("/today").status_code == 200


def test_signing_out_everywhere_ends_every_session_of_the_person(scene):
    here, there = scene.sign_in("adviser"), scene.sign_in("adviser")
    client = scene.client(here)
    proof = proof_in(client.get(f"/fields/{scene.fields[0].id}").text)
    client.post("/sign-out", data={"form_token": proof, "everywhere": "yes"})

    assert [scene.client(one).get("/today").status_code for one in (here, there)] == [303, 303]
    assert scene.client(scene.who["grower"]).get("/today").status_code == 200


@pytest.mark.parametrize(
    ("after", "status"),
    [
        (timedelta(0), 200),
        (IDLE - timedelta(seconds=1), 200),
        (IDLE, 303),
    ],
)
def test_a_session_that_is_not_used_ends(scene, after, status):
    who = scene.sign_in("adviser")
    scene.clock.set(scene.clock.now() + after)

    assert scene.client(who).get("/today").status_code == status


def test_even_a_session_in_use_ends(scene):
    who, begun = scene.sign_in("adviser"), scene.clock.now()
    while scene.clock.now() < begun + LASTS - timedelta(days=7):
        scene.clock.set(scene.clock.now() + timedelta(days=7))
        assert scene.client(who).get("/today").status_code == 200
    scene.clock.set(begun + LASTS)

    assert scene.client(who).get("/today").status_code == 303


def test_whoever_leaves_the_account_sees_it_no_more_at_once(scene):
    client = scene.client(scene.who["adviser"])
    assert client.get("/today").status_code == 200
    with scene.service.engine.begin() as conn:
        drop_member(conn, scene.account, scene.people["adviser"].id)

    assert client.get("/today").status_code == 303


def test_nobody_moves_into_an_account_they_are_not_in(scene):
    client = scene.client(scene.sign_in("other adviser"))
    proof = proof_in(client.get(f"/fields/{scene.other.id}").text)
    answer = client.post("/account/switch", data={"form_token": proof, "account": scene.account})

    assert answer.status_code == 404
    assert client.get(f"/fields/{scene.fields[0].id}").status_code == 404
