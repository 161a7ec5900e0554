"""A request that comes twice is done once.

The header is that of draft-ietf-httpapi-idempotency-key-header-07: the same key with the same
request is answered as before, with another request 422, while the first is under way 409 (2.7).
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from sqlalchemy import func, select, update

from rootbound_service.store.kept_answers import (
    GIVEN_UP,
    KEPT,
    RUNNING,
    Claim,
    claim_key,
    free_key,
    keep_answer,
)
from rootbound_service.store.schema import dig, kept_answer, person
from service.web.api.caller import DUG, ENROLLED, program

KEY = "Idempotency-Key"


@pytest.fixture
def adviser(scene):
    return program(scene, "adviser")


def digs_of(scene, number):
    with scene.service.engine.connect() as conn:
        mine = dig.c.season_id == scene.fields[number].season_id
        return conn.scalar(select(func.count()).where(mine))


def post(client, scene, number, key, **more):
    path = f"/fields/{scene.fields[number].id}/digs"
    return client.post(path, json=DUG | more, headers={KEY: key})


def test_the_same_request_is_done_once_and_answered_alike(scene, adviser):
    before = digs_of(scene, 0)
    first, second = (post(adviser, scene, 0, "card-1") for _ in range(2))

    assert (first.status_code, second.status_code) == (201, 201)
    assert first.content == second.content
    assert "idempotency-replayed" not in first.headers
    assert second.headers["idempotency-replayed"] == "true"
    assert digs_of(scene, 0) == before + 1


def test_without_a_key_every_request_is_done(scene, adviser):
    before = digs_of(scene, 1)
    for _ in range(2):
        adviser.post(f"/fields/{scene.fields[1].id}/digs", json=DUG)

    assert digs_of(scene, 1) == before + 2


@pytest.mark.parametrize("other", [{"wall_class": 3}, {"note": "another"}])
def test_the_same_key_for_another_request_is_refused(scene, adviser, other):
    post(adviser, scene, 2, f"card-{len(str(other))}")
    before = digs_of(scene, 2)
    answer = post(adviser, scene, 2, f"card-{len(str(other))}", **other)

    assert answer.status_code == 422
    assert "another request" in answer.json()["detail"]
    assert digs_of(scene, 2) == before


def test_the_same_key_on_another_field_is_refused(scene, adviser):
    post(adviser, scene, 2, "elsewhere")

    assert post(adviser, scene, 4, "elsewhere").status_code == 422


def test_keys_of_two_tokens_do_not_meet(scene, adviser):
    other = program(scene, "adviser")

    assert "idempotency-replayed" not in post(adviser, scene, 0, "mine").headers
    assert "idempotency-replayed" not in post(other, scene, 0, "mine").headers


def test_ten_at_once_are_done_once(scene, adviser):
    before = digs_of(scene, 4)
    with ThreadPoolExecutor(10) as pool:
        answers = list(pool.map(lambda _: post(adviser, scene, 4, "at-once"), range(10)))

    statuses = [one.status_code for one in answers]
    assert set(statuses) <= {201, 409}
    assert 201 in statuses
    assert digs_of(scene, 4) == before + 1


def test_a_request_under_way_is_not_done_a_second_time(scene, adviser):
    post(adviser, scene, 5, "slow")
    change = update(kept_answer).where(kept_answer.c.key == "slow")
    with scene.service.engine.begin() as conn:
        conn.execute(change.values(status=RUNNING, body=b""))
    before = digs_of(scene, 5)
    answer = post(adviser, scene, 5, "slow")

    assert answer.status_code == 409
    assert answer.headers["retry-after"] == "1"
    assert digs_of(scene, 5) == before


def test_a_refused_request_may_be_mended_under_its_key(scene, adviser):
    wrong = post(adviser, scene, 0, "typo", date="2031-01-01")

    assert wrong.status_code == 422
    assert post(adviser, scene, 0, "typo").status_code == 201


def test_a_day_later_the_key_is_forgotten(scene, adviser):
    first, now = post(adviser, scene, 0, "yesterday's"), scene.clock.now()
    scene.clock.set(now + KEPT + timedelta(seconds=1))
    try:
        second = post(adviser, scene, 0, "yesterday's")
    finally:
        scene.clock.set(now)

    assert first.json()["id"] != second.json()["id"]


def test_what_is_done_and_its_answer_are_kept_both_or_neither(scene, adviser, monkeypatch):
    def broken(*_args, **_more):
        raise RuntimeError("the disk is full")

    before = digs_of(scene, 1)
    monkeypatch.setattr("rootbound_service.web.api.once.keep_answer", broken)
    failed = post(adviser, scene, 1, "unlucky")
    monkeypatch.undo()

    assert failed.status_code == 500
    assert "disk" not in failed.text
    assert digs_of(scene, 1) == before
    assert post(adviser, scene, 1, "unlucky").status_code == 201


def test_enrolling_twice_enrols_one_field(scene, adviser):
    sent = ENROLLED | {"name": "Twice Sent"}
    first, second = (adviser.post("/fields", json=sent, headers={KEY: "enrol-1"}) for _ in range(2))

    assert first.status_code == 201, first.text
    assert first.json() == second.json()
    with scene.service.engine.connect() as conn:
        mine = person.c.email_key == "ann@example.org"
        assert conn.scalar(select(func.count()).where(mine)) == 1


@pytest.mark.parametrize("key", ["", " ", "a" * 201, "two words"])
def test_a_key_that_names_nothing_is_refused(scene, adviser, key):
    answer = post(adviser, scene, 0, key)

    assert answer.status_code == 422
    assert answer.json()["problems"][0]["where"] == KEY


class TestTheStore:
    @pytest.fixture
    def conn(self, scene):
        program(scene, "adviser")
        with scene.service.engine.begin() as conn:
            yield conn
            conn.rollback()

    def test_a_request_cut_off_is_taken_over_after_a_while(self, scene, conn):
        now = scene.clock.now()
        first = claim_key(conn, 1, "cut off", "what", now)
        soon = claim_key(conn, 1, "cut off", "what", now + GIVEN_UP)
        later = claim_key(conn, 1, "cut off", "what", now + GIVEN_UP + timedelta(seconds=1))

        assert isinstance(first, Claim)
        assert not isinstance(soon, Claim)
        assert isinstance(later, Claim)
        assert not keep_answer(conn, first, 201, b"late")
        assert keep_answer(conn, later, 201, b"in time")

    def test_another_request_takes_nothing_over(self, scene, conn):
        now = scene.clock.now()
        claim_key(conn, 1, "held", "what", now)
        later = now + GIVEN_UP + timedelta(minutes=1)

        assert not isinstance(claim_key(conn, 1, "held", "else", later), Claim)

    def test_an_answer_that_is_kept_is_not_freed(self, scene, conn):
        claim = claim_key(conn, 1, "kept", "what", scene.clock.now())
        keep_answer(conn, claim, 201, b"done")
        free_key(conn, claim)

        assert claim_key(conn, 1, "kept", "what", scene.clock.now()).body == b"done"
