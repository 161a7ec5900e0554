"""One's own page: how one reads, what one hears, where one is signed in."""

from __future__ import annotations

import re

import pytest
from sqlalchemy import select

from browser.app_scene import AGENT, an_app, proof_in
from rootbound_service.store.accounts import put_member
from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.store.digests import keep_page, reserve_digest
from rootbound_service.store.schema import contact, outbox, person
from rootbound_service.web.pages.me_agents import browser_words
from rootbound_service.web.pages.me_page import AGREED
from rootbound_service.web.pages.time_zones import zones

FEED = re.compile(r"http://127\.0\.0\.1:8040(/f/[\w-]+)/fields\.csv")


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def still(tmp_path_factory):
    """The same, for tests that change nothing."""
    with an_app(tmp_path_factory.mktemp("me"), computed=False) as opened:
        yield opened


@pytest.fixture
def grower(scene):
    return scene.client(scene.who["grower"])


def post(client, path, page="/me", **values):
    return client.post(path, data={"form_token": proof_in(client.get(page).text), **values})


def record(scene, word="grower"):
    with scene.service.engine.connect() as conn:
        query = select(person).where(person.c.id == scene.people[word].id)
        return conn.execute(query).one()


def ways(scene, word="grower"):
    with scene.service.engine.connect() as conn:
        return contacts_of(conn, contact.c.person_id == scene.people[word].id)


def test_a_stranger_is_asked_to_sign_in(still):
    assert still.client().get("/me").headers["location"].startswith("/sign-in")


def test_everybody_in_an_account_has_a_page_of_their_own_and_only_that(still):
    for word in ("adviser", "grower", "viewer", "other adviser"):
        text = still.client(still.who[word]).get("/me").text
        assert still.people[word].email in text
        assert [one for one in still.people if still.people[one].email in text] == [word]


def test_how_one_reads_is_changed(scene, grower):
    values = {"name": "Maren H. Holt", "units": "metric", "time_zone": "Europe/Berlin"}
    assert post(grower, "/me", **values, language="en").status_code == 303
    now = record(scene)

    assert (now.name, now.units, now.time_zone) == tuple(values.values())


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"units": "furlongs"}, "is no units"),
        ({"time_zone": "Mars/North"}, "is no time zone"),
        ({"language": "tlh"}, "is no language"),
        ({"name": ""}, "has 0 characters"),
        ({"name": "x" * 81}, "has 81 characters"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_changed(still, values, told):
    before = record(still)
    answer = post(still.client(still.who["grower"]), "/me", **values)

    assert answer.status_code == 422
    assert told in answer.text
    assert record(still) == before


def test_what_one_hears_is_changed_by_oneself(scene, grower):
    way = ways(scene)[0]
    post(grower, f"/me/ways/{way.id}", notes="yes", from_rung="2", digest="Friday")

    now = ways(scene)[0]
    assert (now.notes, now.least_rung, now.digest_day) == (True, 2, 4)


def test_what_others_hear_is_not_changed(still):
    client = still.client(still.who["grower"])
    theirs = ways(still, "adviser")[0]

    assert post(client, f"/me/ways/{theirs.id}", digest="never").status_code == 404
    assert ways(still, "adviser") == [theirs]


def test_a_number_of_ones_own_is_added_by_ticking_what_is_agreed_to(scene, grower):
    assert (
        post(grower, "/me/ways", address="515 555 0123", notes="yes", agreed="yes").status_code
        == 303
    )
    way = ways(scene)[-1]
    with scene.service.engine.connect() as conn:
        (event,) = consents_of(conn, way.id)
        texts = conn.execute(select(outbox.c.kind).where(outbox.c.channel == "text")).all()

    assert (event.wording, event.how, event.at) == (AGREED, "page", scene.clock.now())
    assert [one.kind for one in texts] == ["answer"]


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"address": "515 555 0123"}, "texts go only where somebody agrees"),
        ({"address": "", "agreed": "yes"}, "give a number that takes texts"),
        ({"address": "hello", "agreed": "yes"}, "aria-invalid"),
    ],
)
def test_a_number_without_consent_or_sense_is_not_kept(still, values, told):
    answer = post(still.client(still.who["grower"]), "/me/ways", **values)

    assert answer.status_code == 422
    assert told in answer.text
    assert len(ways(still)) == 1


def test_one_signs_out_elsewhere(scene, grower):
    elsewhere = scene.client(scene.sign_in("grower"))
    (other,) = re.findall(r"/me/sessions/(\d+)/end", grower.get("/me").text)
    assert post(grower, f"/me/sessions/{other}/end").status_code == 303

    assert elsewhere.get("/me").status_code == 303
    assert grower.get("/me").status_code == 200


def test_nobody_else_is_signed_out(scene):
    sessions = {word: scene.client(scene.who[word]) for word in ("adviser", "grower", "viewer")}
    elsewhere = scene.client(scene.sign_in("grower"))
    (number,) = re.findall(r"/me/sessions/(\d+)/end", sessions["grower"].get("/me").text)

    assert post(sessions["adviser"], f"/me/sessions/{number}/end").status_code == 404
    assert elsewhere.get("/me").status_code == 200


def test_one_signs_out_everywhere(scene, grower):
    elsewhere = scene.client(scene.sign_in("grower"))
    assert post(grower, "/sign-out", everywhere="yes").status_code == 303

    assert [one.get("/me").status_code for one in (grower, elsewhere)] == [303, 303]


def test_an_address_of_feeds_is_shown_once_and_ends_when_asked(scene, grower):
    made = FEED.search(post(grower, "/me/feed", make="yes").text)
    assert made is not None
    path = f"{made[1]}/fields.csv"
    assert "Long Acre" in scene.client().get(path).text
    assert FEED.search(grower.get("/me").text) is None

    post(grower, "/me/feed")
    assert scene.client().get(path).status_code == 404


def test_a_new_address_of_feeds_ends_the_one_before(scene, grower):
    first, second = (FEED.search(post(grower, "/me/feed", make="yes").text)[1] for _ in range(2))

    assert scene.client().get(f"{first}/fields.csv").status_code == 404
    assert scene.client().get(f"{second}/fields.csv").status_code == 200


def test_one_looks_at_another_of_ones_accounts_and_at_no_other(scene):
    viewer = scene.client(scene.who["viewer"])
    assert post(viewer, "/account/switch", account=str(scene.other_account)).status_code == 404
    with scene.service.engine.begin() as conn:
        put_member(conn, scene.other_account, scene.people["viewer"].id, "viewer")
    assert "Look at" in viewer.get("/me").text

    assert post(viewer, "/account/switch", account=str(scene.other_account)).status_code == 303
    assert "Sable Corner" in viewer.get("/today").text


def test_a_silence_is_shown_and_ended(scene, grower):
    field = scene.fields[0].id
    post(grower, f"/fields/{field}/silence", days="7")
    assert "Silent now" in grower.get("/me").text

    post(grower, f"/fields/{field}/silence", days="0")
    assert "Silent now" not in grower.get("/me").text


def test_the_archive_holds_ones_own_letters_only(scene, grower):
    with scene.service.engine.begin() as conn:
        for word, week in (("grower", "2026-W26"), ("adviser", "2026-W25")):
            number = reserve_digest(
                conn, scene.people[word].id, week, scene.clock.now().date(), scene.clock.now()
            )
            keep_page(conn, number, f"<html><body><h1>{week} of {word}</h1></body></html>")
    text = grower.get("/digests").text
    (path,) = set(re.findall(r'href="(/d/[^".]+\.[^".]+)"', text))

    assert "Week 26 of 2026" in text
    assert "Week 25" not in text
    assert "2026-W26 of grower" in scene.client().get(path).text


KHTML = "AppleWebKit/537.36 (KHTML, like Gecko)"
FIREFOX = "Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0"
CHROME = f"Mozilla/5.0 (Linux; Android 10; K) {KHTML} Chrome/137.0.0.0 Mobile Safari/537.36"
PHONE = f"Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) {KHTML} Version/18.5 Safari/604.1"


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (FIREFOX, "Firefox on Linux"),
        (CHROME, "Chrome on Android"),
        (PHONE, "Safari on an iPhone"),
        (AGENT, "A browser we do not know"),
        ("", "A browser we do not know"),
    ],
)
def test_a_browser_is_named_so_that_one_knows_it_again(agent, words):
    assert browser_words(agent) == words


def test_the_usual_time_zones_are_to_be_had():
    assert {"UTC", "America/Chicago", "Europe/Berlin", "Pacific/Auckland"} <= set(zones())
