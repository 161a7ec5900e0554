"""Tokens for programs and the log of changes: for advisers, within their account."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from sqlalchemy import select

from browser.app_scene import WHEN, an_app, proof_in
from rootbound_service.store.api_tokens import SCOPES, caller_of
from rootbound_service.store.audits import MOST_LISTED, Actor, Entry, log
from rootbound_service.store.schema import api_token
from rootbound_service.web.pages.changes import DONE, words_of
from rootbound_service.web.pages.tokens import WORDS

SHOWN = re.compile(r"rb_[\w-]{43}")
GOOD = {"name": "weather mast", "scope": ["read", "observe"], "days": "30"}


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture
def adviser(scene):
    return scene.client(scene.who["adviser"])


def post(client, path="/tokens", **values):
    return client.post(path, data={"form_token": proof_in(client.get("/tokens").text), **values})


def rows(scene):
    with scene.service.engine.connect() as conn:
        return conn.execute(select(api_token)).all()


def caller(scene, key, at=WHEN):
    with scene.service.engine.connect() as conn:
        return caller_of(conn, key, at)


def test_a_token_is_shown_once_and_kept_nowhere(scene, adviser):
    (key,) = set(SHOWN.findall(post(adviser, **GOOD).text))
    (row,) = rows(scene)

    assert caller(scene, key).scopes == {"read", "observe"}
    assert key not in str(row)
    assert SHOWN.search(adviser.get("/tokens").text) is None
    assert f"...{key[-4:]}" in adviser.get("/tokens").text


def test_a_token_ends_by_itself(scene, adviser):
    (key,) = set(SHOWN.findall(post(adviser, **GOOD).text))

    assert caller(scene, key, WHEN + timedelta(days=29)) is not None
    assert caller(scene, key, WHEN + timedelta(days=30)) is None


def test_a_token_is_ended_at_once(scene, adviser):
    (key,) = set(SHOWN.findall(post(adviser, **GOOD).text))

    assert post(adviser, "/tokens/1/end").status_code == 303
    assert caller(scene, key) is None
    assert "No token holds now" in adviser.get("/tokens").text


def test_a_token_of_another_account_is_not_there(scene, adviser):
    (key,) = set(SHOWN.findall(post(adviser, **GOOD).text))
    other = scene.client(scene.who["other adviser"])

    assert "weather mast" not in other.get("/tokens").text
    assert post(other, "/tokens/1/end").status_code == 404
    assert caller(scene, key) is not None


def test_what_is_wrong_is_said_and_what_was_typed_stays(scene, adviser):
    for values, told in (
        ({"name": ""}, "say what the token is for"),
        ({"name": "x" * 81}, "say what the token is for"),
        ({"scope": ["rule"]}, "choose one at least"),
        ({"days": "4000"}, "choose 30, 90, 365"),
    ):
        answer = post(adviser, **(GOOD | values))
        assert answer.status_code == 422, values
        assert told in answer.text
        assert 'aria-invalid="true"' in answer.text
        assert SHOWN.search(answer.text) is None
    assert rows(scene) == []


def test_every_right_of_a_token_has_its_words():
    assert set(WORDS) == set(SCOPES)


def test_changes_are_told_in_words_with_the_field_and_of_this_account_only(scene, adviser):
    here = Actor(scene.account, scene.people["adviser"].id, "api")
    there = Actor(scene.other_account, scene.people["other adviser"].id, "page")
    with scene.service.engine.begin() as conn:
        log(conn, here, WHEN, "dig.add", scene.fields[0].id, dig=1)
        log(conn, there, WHEN, "dig.add", scene.other.id, dig=2)
    text = " ".join(re.sub(r"<[^>]+>", " ", adviser.get("/changes").text).split())

    assert "Ines Varga recorded a dig: Long Acre July 8, 2026, 10:00, through a token" in text
    assert "Sable Corner" not in text


def test_many_changes_are_paged(scene, adviser):
    here = Actor(scene.account, scene.people["adviser"].id, "page")
    with scene.service.engine.begin() as conn:
        for _ in range(MOST_LISTED + 3):
            log(conn, here, WHEN, "dig.add", scene.fields[0].id)
    first = adviser.get("/changes").text
    onward = re.search(r"/changes\?before=(\d+)", first)
    assert onward is not None
    second = adviser.get(onward[0]).text

    assert (first.count("recorded a dig"), second.count("recorded a dig")) == (MOST_LISTED, 3)
    assert adviser.get("/changes?before=x").status_code == 422


@pytest.mark.parametrize("what", sorted(DONE))
def test_a_line_of_the_log_can_be_said_whatever_stands_in_it(what):
    bare = Entry(1, WHEN, "Ines Varga", "page", what, None, "", {})

    assert "{" not in words_of(bare, {})
    odd = Entry(1, WHEN, "", "page", what, None, "", {"person": "7", "role": ["x"]})
    assert words_of(odd, {7: "Maren Holt"})
