"""Nothing of one account comes to another: every address and every form, tried by everybody.

OWASP ASVS 4.0.3 chapter 4: access control is enforced on a trusted layer (4.1.1), denies by
default (4.1.3, 4.1.5), and no number in an address opens what is another's (4.2.1).
"""

from __future__ import annotations

import pytest

from browser.app_scene import NAMES, OTHER_FIELD, an_app
from browser.app_walk import BY_THEIR_ADDRESS, walk
from service.web.stores import gone, new, stand
from service.web.trying import filled, leaks, ours, proof, usual, with_proof

TURNED_AWAY = {303, 401, 403, 404, 405, 410, 422}
OPEN = ("/healthz", "/metrics", "/sign-in", "/s/", "/in/", "/sign-out")
"""What anybody may call, signed in or not."""
SAME_FOR_ALL = ("/api/v1/openapi.json", "/api/v1/docs", "/sw.js")
"""What says nothing of anybody, and the same to everybody."""
OUTSIDE = ("stranger", "other adviser", "other grower", "operator")
OWN_OF_ANYBODY = ("/sign-out", "/me", "/account/switch", "/feeds")
"""What everybody may change for themselves."""
WATCHING = ("/seen", "/silence")
"""What somebody who looks on may do: it changes what they hear, and nobody else."""


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("access")) as opened:
        yield opened


@pytest.fixture(scope="module")
def found(scene):
    """Pages and forms as the adviser of the account sees them."""
    return walk(scene.client(scene.who["adviser"]), "/today", "/operate", *filled(scene))


def asker(scene, word):
    return None if word == "stranger" else scene.who[word]


def test_the_walk_sees_the_account_as_its_adviser_does(scene, found):
    shown = " ".join(answer.text for answer in found.pages.values())

    assert [name for name in NAMES if name not in shown] == []
    assert len(found.kinds_of_form()) > 4  # without forms the tests below would try nothing
    assert f"/fields/{scene.fields[0].id}" in found.pages


def test_every_page_that_the_walk_does_not_reach_is_tried_by_its_address(scene, found):
    assert [path for path in filled(scene) if path not in found.pages] == []


def test_no_page_fails(found):
    assert [path for path, answer in found.pages.items() if answer.status_code >= 500] == []


@pytest.mark.parametrize("word", OUTSIDE)
def test_no_page_of_the_account_is_shown_outside_it(scene, found, word):
    client = scene.client(asker(scene, word))
    told = {}
    for path in found.pages:
        if path.startswith(BY_THEIR_ADDRESS):
            continue
        answer = client.get(path)
        if leaks(scene, answer):
            told[path] = leaks(scene, answer)
        if f"/fields/{scene.fields[0].id}" in path:
            assert answer.status_code in TURNED_AWAY, path

    assert told == {}


@pytest.mark.parametrize("word", OUTSIDE)
def test_what_is_anothers_looks_as_what_is_not_there(scene, word):
    client = scene.client(asker(scene, word))
    theirs = client.get(f"/fields/{scene.fields[0].id}")
    nobodys = client.get("/fields/2000000000")

    assert theirs.status_code == nobodys.status_code
    assert theirs.text == nobodys.text


def test_a_stranger_is_asked_to_sign_in_on_every_page(scene):
    client = scene.client()
    for path in filled(scene):
        if path.startswith(OPEN) or path == "/" or path in SAME_FOR_ALL:
            continue
        answer = client.get(path)
        assert answer.status_code in {303, 401, 404}, path
        if answer.status_code == 303:
            assert answer.headers["location"].startswith("/sign-in"), path


@pytest.mark.parametrize("word", OUTSIDE)
def test_no_form_of_the_account_changes_it_from_outside(scene, found, word):
    before = stand(scene.service.engine)
    for form in found.forms:
        if form.method != "post" or form.action.startswith(BY_THEIR_ADDRESS):
            continue
        client = scene.client(None if word == "stranger" else scene.sign_in(word))
        values = with_proof(client, form, word)
        answer = client.post(form.action, data=values)
        assert answer.status_code < 500, (form.action, answer.status_code)
        assert leaks(scene, answer) == [], form.action
    after = stand(scene.service.engine)

    assert ours(scene, gone(before, after, "web_session")) == []
    assert ours(scene, new(before, after, "web_session")) == []


@pytest.mark.parametrize("word", OUTSIDE)
def test_no_address_of_the_account_takes_anything_from_outside(scene, word):
    before = stand(scene.service.engine)
    for method in ("POST", "PUT", "PATCH", "DELETE"):
        for path in filled(scene, method):
            client = scene.client(None if word == "stranger" else scene.sign_in(word))
            values = {"form_token": proof(client, word), **usual(scene)}
            answer = client.request(method, path, data=values)
            assert answer.status_code < 500, (path, answer.status_code)
            assert leaks(scene, answer) == [], path
    after = stand(scene.service.engine)

    assert ours(scene, gone(before, after, "web_session")) == []
    assert ours(scene, new(before, after, "web_session")) == []


def test_who_looks_on_changes_nothing(scene, found):
    before = stand(scene.service.engine)
    for form in found.forms:
        if form.method != "post" or form.action.startswith((*OWN_OF_ANYBODY, *BY_THEIR_ADDRESS)):
            continue
        client = scene.client(scene.sign_in("viewer"))
        answer = client.post(form.action, data=with_proof(client, form, "viewer"))
        if not form.action.endswith(WATCHING):
            assert answer.status_code in {403, 404}, form.action
    after = stand(scene.service.engine)
    own = ("web_session", "silence", "acknowledgement", "audit", "standing")

    assert gone(before, after, *own) == []
    assert new(before, after, *own) == []


def test_a_grower_sees_no_other_growers_fields(scene, found):
    client = scene.client(scene.who["grower"])
    others = ("Tobias Reyl", "Odile Brandt", "tobias@", "odile@")
    theirs = [one.name for one in scene.fields if one.grower.name != "Maren Holt"]
    told = {}
    for path in found.pages:
        if path.startswith(BY_THEIR_ADDRESS):
            continue
        answer = client.get(path)
        names = [one for one in (*others, *theirs) if one in answer.text]
        if names:
            told[path] = names

    assert told == {}


def test_a_grower_changes_no_other_growers_fields(scene, found):
    theirs = {one.id for one in scene.fields if one.grower.name != "Maren Holt"}
    before = stand(scene.service.engine)
    tried = 0
    for form in found.forms:
        parts = form.action.split("/")
        if form.method != "post" or parts[1] != "fields" or not parts[2].isdecimal():
            continue
        if int(parts[2]) in theirs:
            client = scene.client(scene.sign_in("grower"))
            answer = client.post(form.action, data=with_proof(client, form, "grower"))
            assert answer.status_code in {403, 404}, form.action
            tried += 1
    after = stand(scene.service.engine)

    assert tried > 4
    assert gone(before, after, "web_session") == []
    assert new(before, after, "web_session") == []


def test_the_other_account_is_shown_its_own_only(scene):
    answer = scene.client(scene.who["other adviser"]).get("/today")

    assert OTHER_FIELD in answer.text
    assert leaks(scene, answer) == []


def test_only_the_operator_sees_the_operators_pages(scene):
    paths = [path for path in filled(scene) if path.startswith("/operate")]
    for word in ("adviser", "grower", "viewer", "other adviser"):
        client = scene.client(scene.who[word])
        assert [path for path in paths if client.get(path).status_code not in {403, 404}] == []
    seen = scene.client(scene.who["operator"])

    assert [path for path in paths if seen.get(path).status_code >= 500] == []
