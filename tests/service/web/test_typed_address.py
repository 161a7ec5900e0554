"""Typing the mail address of somebody in another account tells nothing of them, nor enrols them."""

from __future__ import annotations

import pytest

from browser.app_scene import GROWERS, WHEN, an_app, proof_in
from rootbound_service.store.api_tokens import SCOPES, new_token
from service.web.stores import new, stand
from service.web.trying import leaks

TYPED = {
    "name": "Long Way Round",
    "lat": 41.62,
    "lon": -94.92,
    "planted": "2026-05-01",
    "crop": "maize",
    "grower": f"Somebody <{GROWERS[0].email}>",
    "texture": "loam",
}
"""A field of a grower whom another account knows."""


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


def test_a_program_learns_nothing_of_a_grower_by_typing_their_address(scene):
    """Enrolling somebody takes their word, or their address would tell their name to anybody."""
    with scene.service.engine.begin() as conn:
        theirs = scene.people["other adviser"].id
        key = new_token(conn, scene.other_account, theirs, "a test", SCOPES, WHEN, 30)
    before = stand(scene.service.engine)
    bearer = {"authorization": f"Bearer {key}"}
    answer = scene.client().post("/api/v1/fields", json=TYPED, headers=bearer)
    people = scene.client().get("/api/v1/people", headers=bearer)
    after = stand(scene.service.engine)

    assert answer.status_code == 422
    assert leaks(scene, answer, besides=(GROWERS[0].email,)) == []
    assert leaks(scene, people) == []
    assert new(before, after, "api_token", "kept_answer") == []


def test_a_page_tells_nothing_of_a_grower_by_typing_their_address(scene):
    client = scene.client(scene.sign_in("other adviser"))
    page = client.get("/fields/import")
    table = ",".join(TYPED) + "\n" + ",".join(map(str, TYPED.values())) + "\n"
    before = stand(scene.service.engine)
    sent = {"file": ("fields.csv", table.encode(), "text/csv")}
    data = {"form_token": proof_in(page.text), "step": "keep"}
    answer = client.post("/fields/import", data=data, files=sent)
    after = stand(scene.service.engine)

    assert answer.status_code in {200, 422}
    assert leaks(scene, answer, besides=(GROWERS[0].email,)) == []
    assert new(before, after, "web_session") == []
