"""People, invitations and letters over the API."""

from __future__ import annotations

import pytest

from service.web.api.caller import SOMEBODY, program


@pytest.fixture(scope="module")
def adviser(scene):
    return program(scene, "adviser")


def test_somebody_is_invited_and_uninvited(scene, adviser):
    made = adviser.post("/invitations", json=SOMEBODY)
    listed = adviser.get("/invitations").json()["invitations"]

    assert made.status_code == 201
    assert made.json() in listed
    number = made.json()["id"]
    assert adviser.post(f"/invitations/{number}/withdraw").status_code == 201
    assert adviser.post(f"/invitations/{number}/withdraw").status_code == 404
    assert made.json() not in adviser.get("/invitations").json()["invitations"]


def test_the_last_adviser_stays_one(scene, adviser):
    me = scene.people["adviser"].id
    for role in ("viewer", "grower", "out"):
        answer = adviser.post(f"/people/{me}/role", json={"role": role})

        assert answer.status_code == 422
    assert adviser.get("/me").json()["role"] == "adviser"


def test_a_role_is_changed_and_holds_at_once(scene, adviser):
    viewer, them = program(scene, "viewer"), scene.people["viewer"].id
    assert viewer.get("/people").status_code == 403
    assert adviser.post(f"/people/{them}/role", json={"role": "adviser"}).status_code == 201
    assert viewer.get("/people").status_code == 200
    assert adviser.post(f"/people/{them}/role", json={"role": "out"}).status_code == 201
    assert viewer.get("/me").status_code == 401


def test_a_digest_is_read_where_the_api_says(scene, adviser):
    told = adviser.get("/digests").json()["digests"][0]

    assert told["week"] == "2026-W27"
    assert adviser.get(f"http://127.0.0.1:8040{told['page']}").status_code == 200
