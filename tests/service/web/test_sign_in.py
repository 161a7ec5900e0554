"""Signing in by a link in a letter: once, for minutes, by a press, and alike for known and unknown.

OWASP ASVS 4.0.3: out-of-band verifiers expire and work once (2.7.2, 2.7.3), are random enough
(2.7.6) and pass by a separate way; a new session token on authentication (3.2.1), 64 bits of
entropy at least (3.2.2); cookie attributes (3.4.1 to 3.4.5).
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select

from browser.app_scene import ADVISER, AGENT, GROWERS, an_app
from rootbound_service.secret import links_of
from rootbound_service.store.schema import outbox, sign_in_link, web_session
from rootbound_service.store.sign_in import LASTS as LINK_LASTS
from rootbound_service.store.sign_in import MOST_AN_HOUR
from rootbound_service.web.access.reader import PLAIN_COOKIE, SECURE_COOKIE
from rootbound_service.web.access.sign_in import safe_path
from rootbound_service.web.pace import LETTING_IN
from service.web.stores import stand

TLS = "https://rootbound.example"


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """One scene for tests that leave it as it is."""
    with an_app(tmp_path_factory.mktemp("kept"), computed=False) as opened:
        yield opened


def links(scene):
    """Paths of the links sent so far, the oldest first."""
    with scene.service.engine.connect() as conn:
        numbers = conn.scalars(select(sign_in_link.c.id).order_by(sign_in_link.c.id)).all()
    made = links_of(scene.service.settings)
    return [f"/enter/{made.token('enter', number)}" for number in numbers]


def ask(scene, email=ADVISER.email):
    answer = scene.client().post("/sign-in", data={"email": email, "to": "/today"})
    assert answer.status_code == 200
    return answer


def sessions(scene):
    with scene.service.engine.connect() as conn:
        return conn.execute(select(web_session)).mappings().all()


def entered(scene):
    """A browser that has signed in by a link."""
    ask(scene)
    client = scene.client()
    assert client.post(links(scene)[-1]).status_code == 303
    return client


def test_a_link_lets_in_and_the_page_is_the_persons_own(scene):
    client = entered(scene)

    assert ADVISER.name in client.get("/today").text


def test_the_letter_goes_to_the_address_that_is_known_not_to_the_one_that_was_typed(scene):
    ask(scene, f"  {ADVISER.email.upper()} ")
    with scene.service.engine.connect() as conn:
        sent = conn.execute(select(outbox)).mappings().all()

    assert [one["to_address"] for one in sent] == [ADVISER.email]


def test_the_database_holds_nothing_that_lets_in(scene):
    client = entered(scene)
    token = links(scene)[-1].rpartition("/")[2]
    kept = repr(stand(scene.service.engine))

    assert client.cookies[PLAIN_COOKIE] not in kept
    assert token not in kept


@pytest.mark.parametrize("email", ["nobody@alder.example", GROWERS[2].email])
def test_known_and_unknown_are_answered_alike(scene, email):
    """Nobody learns who is enrolled; Odile has fields here, and nobody of that name is known."""
    known, other = ask(scene, ADVISER.email), ask(scene, email)

    assert known.text.replace(ADVISER.email, "X") == other.text.replace(email, "X")
    assert {*known.headers.keys()} == {*other.headers.keys()}


@pytest.mark.parametrize(
    "email",
    [
        "",
        "ines",
        "@",
        "a@b\r\nBcc: x@y.example",
        "\x00@\x00",
        "a" * 400 + "@b.example",
        "' OR 1=1 --@x",
    ],
)
def test_what_is_no_address_sends_nothing(kept, email):
    answer = kept.client().post("/sign-in", data={"email": email})

    assert answer.status_code in {200, 422}
    assert links(kept) == []


def test_looking_at_a_link_lets_nobody_in(scene):
    """Mail scanners follow every link in a letter."""
    ask(scene)
    client = scene.client()
    for _ in range(3):
        answer = client.get(links(scene)[0])
        assert answer.status_code == 200
        assert "set-cookie" not in answer.headers

    assert client.get("/today").status_code == 303
    assert client.post(links(scene)[0]).status_code == 303


def test_a_link_works_once(scene):
    client = entered(scene)
    again = scene.client()

    assert again.post(links(scene)[0]).status_code == 410
    assert again.get(links(scene)[0]).status_code == 410
    assert again.get("/today").status_code == 303
    assert client.get("/today").status_code == 200


def test_a_link_works_for_minutes(scene):
    ask(scene)
    scene.clock.set(scene.clock.now() + LINK_LASTS - timedelta(seconds=1))
    assert scene.client().get(links(scene)[0]).status_code == 200
    scene.clock.set(scene.clock.now() + timedelta(seconds=1))

    assert scene.client().get(links(scene)[0]).status_code == 410
    assert scene.client().post(links(scene)[0]).status_code == 410


def test_links_cannot_be_made_up(scene):
    ask(scene)
    good = links(scene)[0].rpartition("/")[2]
    number, _, proof = good.partition(".")
    other = links_of(scene.service.settings).token("join", int(number))
    for bad in (
        proof,
        number,
        f"{int(number) + 1}.{proof}",
        good[:-1],
        good + "A",
        other,
        "a.b",
        "-.-",
    ):
        assert scene.client().post(f"/enter/{bad}").status_code == 410, bad
    assert sessions(scene)[-1]["agent"] == AGENT  # those of the scene, none of these
    assert len(sessions(scene)) == len(scene.who)


def test_nobodys_mailbox_is_flooded(scene):
    for _ in range(MOST_AN_HOUR + 3):
        ask(scene)
    assert len(links(scene)) == MOST_AN_HOUR
    scene.clock.set(scene.clock.now() + timedelta(hours=1, seconds=1))
    ask(scene)

    assert len(links(scene)) == MOST_AN_HOUR + 1


def test_nobody_asks_for_links_without_end_from_one_address(scene):
    client = scene.client(near=True)
    answers = [client.get("/sign-in").status_code for _ in range(LETTING_IN + 1)]

    assert answers == [200] * LETTING_IN + [429]
    assert client.get("/today").status_code == 303  # pages have a measure of their own


def test_signing_in_gives_a_new_session_whatever_cookie_came(scene):
    """Session fixation: a key that somebody planted is worth nothing (ASVS 3.2.1)."""
    ask(scene)
    client = scene.client()
    client.cookies.set(PLAIN_COOKIE, "planted")
    answer = client.post(links(scene)[0])
    given = answer.headers["set-cookie"].partition(";")[0].partition("=")[2]

    assert given != "planted"
    assert len(given) >= 43  # 256 bits in base64
    planted = scene.client()
    planted.cookies.set(PLAIN_COOKIE, "planted")
    assert planted.get("/today").status_code == 303


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(scene):
    ask(scene)
    cookie = scene.client().post(links(scene)[0]).headers["set-cookie"].lower()

    assert cookie.startswith(f"{PLAIN_COOKIE}=")
    assert "httponly" in cookie
    assert "samesite=lax" in cookie
    assert "path=/" in cookie
    assert "domain" not in cookie


def test_behind_tls_the_cookie_is_bound_to_host_and_tls(tmp_path):
    """Browsers refuse the name without Secure and Path=/, or with Domain (RFC 6265bis)."""
    with an_app(tmp_path, computed=False, ROOTBOUND_BASE_URL=TLS) as scene:
        ask(scene)
        client = scene.client(base_url=TLS)
        cookie = client.post(links(scene)[0]).headers["set-cookie"]
        assert cookie.startswith(f"{SECURE_COOKIE}=")
        assert "; Secure" in cookie
        assert "domain" not in cookie.lower()
        assert client.get("/today").status_code == 200
        plain = scene.client()
        plain.cookies.set(PLAIN_COOKIE, cookie.partition(";")[0].partition("=")[2])
        assert plain.get("/today").status_code == 303  # the name without the bond opens nothing


@pytest.mark.parametrize(
    "to",
    [
        "https://evil.example/", "//evil.example", "/\\evil.example", "\\\\evil.example",
        "///evil.example", "/%5cevil.example/..", "javascript:alert(1)", " //evil.example",
        "\t//evil.example", "/\t/evil.example", "/\n/evil.example", "evil.example", "",
        "http:evil.example", "/..//evil.example", "//[::1",
    ],
)  # fmt: skip
def test_nobody_is_led_to_another_site(kept, to):
    """ASVS 5.1.5: redirects only to what is our own."""
    answer = kept.client(kept.who["adviser"]).get("/sign-in", params={"to": to})

    assert answer.status_code == 303
    led = answer.headers["location"]
    assert led.startswith("/")
    assert not led.startswith(("//", "/\\", "/\t", "/\n"))
    assert "\\" not in safe_path(to)


def test_after_signing_in_one_is_asked_back_to_where_one_wanted(kept):
    answer = kept.client().get("/fields/1?said=seen")

    assert answer.headers["location"] == "/sign-in?to=%2Ffields%2F1%3Fsaid%3Dseen"
    assert 'value="/fields/1?said=seen"' in kept.client().get(answer.headers["location"]).text
