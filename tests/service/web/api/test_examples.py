"""Every call that the page of the API shows is made as it stands there."""

from __future__ import annotations

import json
import shlex
from datetime import timedelta
from html import unescape
from io import BytesIO
from urllib.parse import urlsplit

import pytest
from lxml import html
from PIL import Image

from rootbound_service.store.observations import every_observation
from rootbound_service.web.api.examples import EXAMPLES, curl
from service.web.api.caller import V1, anybody, program, token

BASE = "http://127.0.0.1:8040"
_BUFFER = BytesIO()
Image.new("RGB", (40, 30), (120, 90, 60)).save(_BUFFER, "JPEG")
PHOTO = _BUFFER.getvalue()


def made(client, line, key):
    """Make a call as a shell and curl would: curl(1), options -H, -X, -d and -F."""
    words = shlex.split(line.replace("\\\n", " ").replace("$BASE", BASE).replace("$TOKEN", key))
    assert words.pop(0) == "curl"
    method, headers, body, files, url = None, {}, None, None, None
    while words:
        word = words.pop(0)
        if word == "-H":
            name, _, value = words.pop(0).partition(": ")
            headers[name] = value
        elif word == "-X":
            method = words.pop(0)
        elif word == "-d":
            body = words.pop(0)
        elif word == "-F":
            assert words.pop(0).startswith("file=@")
            files = {"file": ("wall.jpg", PHOTO, "image/jpeg")}
        else:
            assert url is None, word
            url = word
    method = method or ("GET" if body is None and files is None else "POST")
    return client.request(method, url, headers=headers, content=body, files=files)


@pytest.fixture(scope="module")
def page(scene):
    answer = anybody(scene).get("/docs")
    assert answer.status_code == 200
    return html.fromstring(answer.text)


def shown(page):
    return [unescape(one.text_content()) for one in page.xpath("//pre[contains(., 'curl')]")]


def test_the_page_shows_every_example_and_how_to_begin(page):
    assert shown(page) == [curl(one) for one in EXAMPLES]
    assert page.xpath(f"string(//pre[contains(., 'BASE={BASE}')])")


def test_every_example_works_as_it_stands(scene, page):
    scene.clock.set(scene.clock.now() + timedelta(days=1))
    key, client = token(scene, "adviser"), anybody(scene)
    for line in shown(page):
        if "/observations/1/" in line:
            with scene.service.engine.connect() as conn:
                seen = every_observation(conn, scene.fields[0].season_id)
            assert seen[0].id == 1  # else the example would be of another field
        answer = made(client, line, key)

        assert answer.status_code in {200, 201}, (line, answer.text)


def test_the_examples_ask_for_most_of_what_there_is(scene):
    asked = {(one.method, urlsplit(one.path).path) for one in EXAMPLES}

    assert len(asked) > 15
    assert {method for method, _ in asked} == {"GET", "POST", "PATCH"}


def test_the_page_lists_every_call_of_the_schema(scene, page):
    schema = json.loads(anybody(scene).get("/openapi.json").text)
    listed = {one.text for one in page.xpath("//li/code")}
    wanted = {
        f"{method.upper()} {V1}{path}"
        for path, methods in schema["paths"].items()
        for method in methods
    }

    assert listed == wanted


def test_the_schema_is_of_openapi_3_1_and_names_its_server(scene):
    answer = anybody(scene).get("/openapi.json")
    schema = answer.json()

    assert answer.status_code == 200
    assert schema["openapi"].startswith("3.1.")
    assert schema["servers"] == [{"url": V1}]
    assert schema["components"]["securitySchemes"]["token"]["scheme"] == "bearer"


def test_every_call_and_every_value_is_described(scene):
    schema = anybody(scene).get("/openapi.json").json()
    for path, methods in schema["paths"].items():
        for method, told in methods.items():
            assert told["description"], (method, path)
            kinds = told["responses"]["401"]["content"]
            assert list(kinds) == ["application/problem+json"], (method, path)
    for name, shape in schema["components"]["schemas"].items():
        assert shape.get("description") or name.startswith("Body_"), name


def test_the_page_runs_no_script(page):
    assert page.xpath("//script") == []
    assert page.xpath("//@style") == []


def test_whoever_copies_the_first_call_gets_an_answer_that_helps(scene):
    answer = program(scene, "viewer").get("/me")

    assert answer.json()["role"] == "viewer"
    assert answer.json()["scopes"] == ["read", "dig", "observe", "enrol", "people"]
