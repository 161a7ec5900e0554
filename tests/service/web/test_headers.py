"""What goes out with every answer, and what stands in every page.

OWASP ASVS 4.0.3: 14.4.1 (type and charset), 14.4.3 (content security policy), 14.4.4 (nosniff),
14.4.5 (strict transport), 14.4.6 (referrer), 14.4.7 (framing), 14.5.1 (methods), 14.5.3 (origins),
8.2.1 (caching), 7.4.1 (messages of errors), 14.3.3 (versions). RFC 6797 7.2, 8.1.
"""

from __future__ import annotations

import pytest
from lxml import html as markup

from browser.app_scene import an_app
from browser.app_walk import walk
from rootbound_service.web import guard
from rootbound_service.web.guard import HEADERS, MOST_NUMBER, Guard
from rootbound_service.web.pace import Pace, caller

SIGNED_IN = ("adviser", "grower", "viewer", "operator")


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("headers")) as opened:
        yield opened


@pytest.fixture(scope="module")
def answers(scene):
    """Every page of everybody, by who and where."""
    found = {}
    for word in SIGNED_IN:
        pages = walk(scene.client(scene.who[word]), "/today", "/operate", "/me").pages
        found |= {(word, path): answer for path, answer in pages.items()}
    pages = walk(scene.client(), "/sign-in", "/today", "/healthz", "/nowhere").pages
    return found | {("stranger", path): answer for path, answer in pages.items()}


@pytest.fixture(scope="module")
def pages(answers):
    """Those that are pages for people, read."""
    return {
        key: markup.fromstring(answer.text)
        for key, answer in answers.items()
        if "text/html" in answer.headers.get("content-type", "")
    }


def test_every_answer_carries_the_headers(answers):
    own = {"Content-Security-Policy", "Cache-Control"}  # a room may set its own
    for key, answer in answers.items():
        for name, value in HEADERS.items():
            assert name in answer.headers, key
            assert name in own or answer.headers[name] == value, (key, name)


def test_no_answer_loosens_what_scripts_may_do(answers):
    for key, answer in answers.items():
        rules = answer.headers["content-security-policy"]
        assert "default-src 'none'" in rules or "sandbox" in rules, key
        assert "unsafe-eval" not in rules, key
        assert "*" not in rules, key
        if "unsafe-inline" in rules:  # a kept letter holds its own style, and runs no script
            assert key[1].startswith("/d/"), key
            assert "script-src" not in rules, key


def test_no_answer_names_software_or_opens_to_other_origins(answers):
    for key, answer in answers.items():
        names = {name.lower() for name in answer.headers}
        assert not names & {"server", "x-powered-by", "access-control-allow-origin"}, key


def test_pages_are_kept_nowhere_and_our_own_files_for_long(answers):
    for key, answer in answers.items():
        kept = answer.headers["cache-control"]
        if key[1].startswith("/s/"):
            assert "private" not in kept, key
        elif "text/html" in answer.headers.get("content-type", ""):
            assert "no-store" in kept, key


def test_every_text_says_its_charset(answers):
    for key, answer in answers.items():
        kind = answer.headers.get("content-type", "")
        if kind.startswith("text/"):
            assert "charset=utf-8" in kind.lower(), key


def test_no_page_holds_a_script_or_a_style_that_the_rules_forbid(answers, pages):
    for key, page in pages.items():
        text = answers[key].text
        assert page.xpath("//*[@style]") == [], key
        assert page.xpath("//style") == [] or key[1].startswith("/d/"), key
        inline = page.xpath("//script[not(@src) and not(@type='application/json')]")
        assert inline == [], key
        for node in page.iter():
            assert not any(name.lower().startswith("on") for name in node.attrib), key
        assert "javascript:" not in text, key


def test_no_page_loads_anything_from_elsewhere(pages):
    for key, page in pages.items():
        loaded = page.xpath("//script/@src|//img/@src|//link/@href|//iframe/@src|//source/@src")
        strange = [one for one in loaded if not one.startswith(("/", "data:"))]
        assert strange == [], key


def test_everything_that_a_page_loads_is_there(scene, pages):
    client = scene.client(scene.who["adviser"])
    wanted = set()
    for page in pages.values():
        wanted |= {*page.xpath("//script/@src|//img/@src|//link/@href")}
    missing = [
        one for one in sorted(wanted) if one[0] == "/" and client.get(one).status_code != 200
    ]

    assert missing == []


def test_every_link_of_a_page_leads_somewhere(answers):
    broken = {
        (word, path): answer.status_code
        for (word, path), answer in answers.items()
        if answer.status_code >= 400
        and path not in {"/nowhere", "/operate", "/healthz"}
        and not (word == "operator" and answer.status_code == 403)
    }

    assert broken == {}


def test_every_page_has_a_language_a_title_and_one_heading(pages):
    for key, page in pages.items():
        if key[1].startswith("/d/"):
            continue
        assert page.get("lang"), key
        assert page.findtext(".//title", "").strip(" -"), key
        assert len(page.xpath("//h1")) == 1, key
        ids = page.xpath("//@id")
        assert len(ids) == len(set(ids)), (key, sorted(one for one in ids if ids.count(one) > 1))


def test_by_tls_the_browser_is_told_to_stay_with_it(scene):
    name = "strict-transport-security"

    assert name in scene.client(base_url="https://127.0.0.1:8040").get("/sign-in").headers
    assert name not in scene.client().get("/sign-in").headers  # RFC 6797 7.2


@pytest.mark.parametrize("method", ["TRACE", "PUT", "DELETE", "PATCH", "PROPFIND", "JEFF"])
def test_other_methods_are_refused(scene, method):
    answer = scene.client(scene.who["adviser"]).request(method, "/today")

    assert answer.status_code == 405
    assert (
        HEADERS.items() <= dict(answer.headers).items()
        or "content-security-policy" in answer.headers
    )


@pytest.mark.parametrize(
    "number", [MOST_NUMBER + 1, 2**63, 10**40, "9" * 3000, "\u0661" * 30, 0, -1, MOST_NUMBER]
)
def test_a_number_that_nothing_has_names_nothing(scene, number):
    client = scene.client(scene.who["adviser"])

    assert client.get(f"/fields/{number}").status_code == 404


@pytest.mark.parametrize(
    "path",
    [
        "/fields/x",
        "/fields/1.0",
        "/fields/%00",
        "/today?start=-1",
        "/today?start=x",
        "/today?q=" + "a" * 500,
    ],
)
def test_an_address_of_the_wrong_kind_is_answered_in_words(scene, path):
    answer = scene.client(scene.who["adviser"]).get(path)

    assert answer.status_code in {200, 404, 422}
    assert answer.headers["content-type"].startswith("text/html")
    assert "pydantic" not in answer.text
    assert "int_parsing" not in answer.text


@pytest.mark.parametrize("path", ["/today", "/api/v1/fields"])
def test_a_failure_tells_nothing_of_our_inside(scene, path):
    """ASVS 7.4.1; the error itself goes on to the server, which writes it down."""
    import asyncio

    async def breaks(scope, receive, send):
        raise RuntimeError("a password in the clear")

    sent, scope = (
        [],
        {"type": "http", "path": path, "method": "GET", "client": ("a", 1), "headers": []},
    )

    async def receive():
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message):
        sent.append(message)

    async def act():
        await Guard(breaks, Pace(scene.clock))(scope, receive, send)

    with pytest.raises(RuntimeError):
        asyncio.run(act())
    names = {name.decode() for name, _ in sent[0]["headers"]}
    body = b"".join(one.get("body", b"") for one in sent)

    assert sent[0]["status"] == 500
    assert "content-security-policy" in names
    assert b"password" not in body
    assert (b"went wrong" in body) == (path == "/today")
    assert (b'"status":500' in body) == (path != "/today")


def test_the_longest_body_is_named_for_every_place_that_takes_files():
    paths = [path for path, _ in guard.MOST_BYTES]

    assert guard.most_bytes("/fields/7/dig") > guard.USUAL_BYTES
    assert guard.most_bytes("/today") == guard.USUAL_BYTES
    for at, path in enumerate(paths):  # a longer one after a shorter would never count
        assert not any(path.startswith(earlier) for earlier in paths[:at])


def test_one_caller_with_many_addresses_is_one_caller():
    """A customer is given a whole network of them (RFC 6177)."""
    assert caller("2001:db8:1:2:3::4") == caller("2001:db8:1:2:ffff::1")
    assert caller("2001:db8:1:2::1") != caller("2001:db8:1:3::1")
    assert caller("192.0.2.1") != caller("192.0.2.2")
    assert caller("::ffff:192.0.2.1") != caller("::ffff:192.0.2.2")
    assert caller("testclient") == "testclient"


BROKEN = (
    ("multipart/form-data", b"x"),
    ("multipart/form-data; boundary=a", b"--a\r\nContent-Disposition: form-data\r\n\r\nx\r\n--a--"),
    ("multipart/form-data; boundary=a", b"--a\r\n" + b"X: y\r\n" * 400),
    ("application/json", b"{"),
    ("text/plain; charset=utf-99", b"\xff"),
    ("application/x-www-form-urlencoded", b"&".join(b"a=%d" % one for one in range(9000))),
)


@pytest.mark.parametrize(("kind", "body"), BROKEN)
def test_a_body_that_is_no_form_is_answered_in_words(scene, kind, body):
    client = scene.client(scene.sign_in("adviser"))
    path = f"/fields/{scene.fields[0].id}/seen"
    answer = client.post(path, content=body, headers={"content-type": kind})

    assert 400 <= answer.status_code < 500
    assert answer.headers["content-type"].startswith("text/html")
