"""Before every page: bodies are counted as they come, callers are counted, stopping goes first."""

from __future__ import annotations

import pytest

from rootbound_service.store.suppressions import suppress, suppressed
from rootbound_service.web.guard import HEADERS, USUAL_BYTES
from rootbound_service.web.pace import BURST, USUAL
from service.web.conftest import NOW


def in_parts(most, taken):
    """A body without a length (RFC 9112 7.1), and how much of it was asked for."""
    for _ in range(most // 1000):
        taken.append(1000)
        yield b"x" * 1000


@pytest.mark.parametrize("path", ["/in/text", "/u/x", "/n/x/silence", "/nowhere"])
def test_a_body_that_does_not_say_how_long_it_is_is_read_no_further_than_the_limit(scene, path):
    answer = scene.web.post(path, content=in_parts(USUAL_BYTES + 1000, []))

    assert answer.status_code == 413
    assert answer.headers["connection"] == "close"


def test_a_letter_may_be_longer_than_a_text(scene):
    assert scene.web.post("/in/mail", content=b"x" * (USUAL_BYTES + 1)).status_code == 403
    assert scene.web.post("/in/mail", content=b"x" * 6_000_001).status_code == 413


def test_a_body_of_just_the_limit_is_read_whole(scene):
    assert scene.web.post("/in/text", content=b"x" * USUAL_BYTES).status_code == 403


@pytest.mark.parametrize("length", ["9" * 5000, "-1", "many"])
def test_a_length_that_is_no_length_breaks_nothing(scene, length):
    answer = scene.web.post("/in/text", content=b"x", headers={"Content-Length": length})

    assert answer.status_code == 403


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/nowhere", 404),
        ("PUT", "/u/x", 405),
        ("POST", "/in/text", 403),
        ("GET", "/n/x", 404),
    ],
)
def test_answers_of_every_kind_carry_the_headers(scene, method, path, status):
    answer = scene.web.request(method, path)

    assert answer.status_code == status
    assert {name: answer.headers[name] for name in HEADERS} == HEADERS


def test_one_click_from_an_address_that_asked_for_many_pages_still_stops(scene):
    """A mail provider presses for many readers from few addresses (RFC 8058 section 3.2)."""
    for _ in range(USUAL + 1):
        scene.web.get("/u/x")
    answer = scene.web.post(scene.path("u", "stop", scene.mail.id, 1))

    assert answer.status_code == 200
    with scene.service.engine.connect() as conn:
        assert suppressed(conn, "email", scene.mail.address) == {"note"}


def test_even_presses_have_an_end(scene):
    answers = [scene.web.post("/u/x").status_code for _ in range(BURST + 1)]

    assert set(answers[:-1]) == {404}
    assert answers[-1] == 429


@pytest.mark.parametrize(
    ("scopes", "words"),
    [
        (("all",), "We send everything to"),
        (("note", "digest"), "We send the weekly digest and notes on your fields to"),
        (("note",), "We send notes on your fields to"),
    ],
)
def test_the_stop_page_names_all_that_starting_again_would_start(scene, scopes, words):
    with scene.service.engine.begin() as conn:
        for scope in scopes:
            suppress(conn, "email", scene.mail.address, scope, "stop", NOW)
    path = scene.path("u", "stop", scene.mail.id, 1)

    assert words in scene.web.get(path).text
    assert words in scene.web.post(path).text
