"""No other site can act for somebody who is signed in (OWASP ASVS 4.0.3, 4.2.2; Fetch Metadata)."""

from __future__ import annotations

import pytest

from browser.app_scene import HERE, an_app, proof_in
from browser.app_walk import BY_THEIR_ADDRESS, routes_of, walk
from service.web.stores import gone, new, stand

FROM_ELSEWHERE = (
    {"sec-fetch-site": "cross-site"},
    {"sec-fetch-site": "same-site"},
    {"sec-fetch-site": "cross-site", "origin": HERE},
    {"origin": "https://evil.example"},
    {"origin": "http://127.0.0.1:9999"},
    {"origin": "http://[::1"},
)
FROM_HERE = (
    {},
    {"sec-fetch-site": "same-origin", "origin": HERE},
    {"origin": HERE},
    {"origin": "null"},
)
"""A page that sends no referrer sends the origin "null" with its own forms (Fetch, 3.2)."""
NO_COOKIE = (*BY_THEIR_ADDRESS, "/in/", "/api/", "/sign-in")
"""What a link, a provider's proof or a token allows: no cookie counts there."""
SEEN = ("web_session",)


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("csrf")) as opened:
        yield opened


@pytest.fixture(scope="module")
def found(scene):
    return walk(scene.client(scene.who["adviser"]), "/today", "/me")


def changing(scene):
    """Addresses that change something by the right of a cookie."""
    return [
        route.filled(**dict.fromkeys(route.parameters, 1))
        for route in routes_of(scene.app)
        if route.method not in {"GET", "HEAD", "OPTIONS"} and not route.path.startswith(NO_COOKIE)
    ]


def unchanged(scene, act):
    before = stand(scene.service.engine)
    act()
    after = stand(scene.service.engine)
    assert gone(before, after, *SEEN) == []
    assert new(before, after, *SEEN) == []


def test_there_is_something_to_protect(scene, found):
    assert len(changing(scene)) > 5
    assert len([one for one in found.forms if one.method == "post"]) > 5


@pytest.mark.parametrize("proof", [None, "", "1", "1.x", "another's"])
def test_without_the_proof_of_this_session_nothing_is_done(scene, proof):
    given = proof
    if proof == "another's":
        other = scene.client(scene.sign_in("adviser"))
        given = proof_in(other.get(f"/fields/{scene.fields[0].id}").text)

    def act():
        for path in changing(scene):
            body = {"rain": "3", "days": "7", "id": "1"} | (
                {} if given is None else {"form_token": given}
            )
            who = scene.sign_in("operator" if path.startswith("/operate") else "adviser")
            answer = scene.client(who).post(path, data=body)
            assert answer.status_code in {403, 404}, (path, answer.status_code)
            assert "This did not come from a page of ours" in answer.text, path

    unchanged(scene, act)


def test_a_proof_in_the_address_is_none(scene):
    who = scene.sign_in("adviser")
    client = scene.client(who)
    proof = proof_in(client.get(f"/fields/{scene.fields[0].id}").text)
    path = f"/fields/{scene.fields[0].id}/seen?form_token={proof}"

    unchanged(scene, lambda: client.post(path))
    assert client.post(path).status_code == 403


@pytest.mark.parametrize("headers", FROM_ELSEWHERE)
def test_what_another_site_sends_is_refused_even_with_the_proof(scene, headers):
    client = scene.client(scene.sign_in("adviser"))
    proof = proof_in(client.get(f"/fields/{scene.fields[0].id}").text)

    def act():
        for path in changing(scene):
            body = {"form_token": proof, "rain": "3", "days": "7", "id": "1"}
            answer = client.post(path, data=body, headers=headers)
            assert answer.status_code in {403, 404}, (path, answer.status_code)

    unchanged(scene, act)


@pytest.mark.parametrize("headers", FROM_ELSEWHERE)
def test_no_other_site_sends_letters_or_signs_anybody_in(scene, headers):
    """Signing a victim in to the attacker's account is a forgery too."""
    client = scene.client()

    assert (
        client.post("/sign-in", data={"email": "ines@alder.example"}, headers=headers).status_code
        == 403
    )
    assert client.post("/enter/1.x", headers=headers).status_code == 403


@pytest.mark.parametrize("headers", FROM_HERE)
def test_our_own_pages_are_let_through(scene, headers):
    client = scene.client(scene.sign_in("adviser"))
    page = f"/fields/{scene.fields[0].id}"
    proof = proof_in(client.get(page).text)

    assert (
        client.post(f"{page}/seen", data={"form_token": proof}, headers=headers).status_code == 303
    )


def test_every_form_that_changes_something_carries_the_proof_and_no_other_does(found):
    """In a form that asks, the proof would stand in the address, the history and the log."""
    for form in found.forms:
        if form.action.startswith(BY_THEIR_ADDRESS):
            continue
        names = [one.name for one in form.inputs]
        assert names.count("form_token") == (form.method == "post"), (form.page, form.action)


def test_asking_for_pages_changes_nothing(scene, found):
    client = scene.client(scene.who["adviser"])

    unchanged(scene, lambda: [client.get(path) for path in found.pages])


def test_the_interface_for_programs_takes_no_cookie(scene):
    client = scene.client(scene.who["adviser"])
    for route in routes_of(scene.app):
        if not route.path.startswith("/api/") or "openapi" in route.path or "docs" in route.path:
            continue
        path = route.filled(**dict.fromkeys(route.parameters, 1))
        assert client.request(route.method, path).status_code in {401, 404}, (route.method, path)
