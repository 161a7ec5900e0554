"""Errors have one shape and say where, what, and what would be right (RFC 9457)."""

from __future__ import annotations

import pytest

from service.web.api.caller import DUG, ENROLLED, RAIN, V1, anybody, program

MIME = "application/problem+json"


@pytest.fixture(scope="module")
def adviser(scene):
    return program(scene, "adviser")


def read(answer, status):
    """Check the shape and give what is wrong, by where."""
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == MIME
    body = answer.json()
    assert set(body) == {"type", "title", "status", "detail", "instance", "problems"}
    assert body["type"] == "about:blank"
    assert body["status"] == status
    assert body["title"]
    assert body["instance"].startswith("/api")
    for one in body["problems"]:
        assert set(one) == {"where", "what", "wanted"}
        assert all(one.values())
    return {one["where"]: one for one in body["problems"]}


@pytest.mark.parametrize("path", ["/nothing", "/fields/", "/fields/1/nothing", "/", "", "//fields"])
def test_an_address_that_is_none(adviser, path):
    read(adviser.get(path), 404)


def test_an_address_beside_this_version(scene):
    for path in ("/api", "/api/", "/api/v2/fields", "/api/v1", "/api/v1x"):
        answer = anybody(scene).get(f"http://127.0.0.1:8040{path}")
        if answer.status_code != 307:
            read(answer, 404)


def test_a_way_of_asking_that_is_none(adviser):
    answer = adviser.delete("/fields")

    read(answer, 405)
    assert {"GET", "POST"} >= {one.strip() for one in answer.headers["allow"].split(",")}


@pytest.mark.parametrize("number", ["0", "-1", "x", "1.5", str(2**31), "9" * 400, "%00", "1;2"])
def test_a_number_that_no_field_has(adviser, number):
    assert "field_id" in read(adviser.get(f"/fields/{number}"), 422)


def test_a_field_that_is_not_there(adviser):
    read(adviser.get(f"/fields/{2**31 - 1}"), 404)


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"wall_class": 4}, "wall_class"),
        ({"wall_class": "2"}, "wall_class"),
        ({"wall_class": None}, "wall_class"),
        ({"wall_class": True}, "wall_class"),
        ({"date": "2026-13-01"}, "date"),
        ({"date": 20260601}, "date"),
        ({"date": "20260601"}, "date"),
        ({"date": "2026-06-01T00:00:00"}, "date"),
        ({"date": "2031-06-01"}, "date"),
        ({"date": "2025-06-01"}, "date"),
        ({"crossing": None}, "crossing"),
        ({"plants": 0}, "plants"),
        ({"plants": 10**30}, "plants"),
        ({"pan_class": 2}, "pan_depth_cm"),
        ({"pan_depth_cm": 20}, "pan_class"),
        ({"wall": 2}, "wall"),
        ({"note": "a" * 2001}, "note"),
    ],
)
def test_a_dig_that_is_wrong_says_where(scene, adviser, change, where):
    answer = adviser.post(f"/fields/{scene.fields[0].id}/digs", json=DUG | change)

    assert where in read(answer, 422)


def test_every_value_that_is_wrong_is_named_at_once(adviser):
    sent = ENROLLED | {"lat": 91, "lon": "x", "planted": "soon", "colour": "blue"}
    del sent["name"]

    found = read(adviser.post("/fields", json=sent), 422)

    assert set(found) == {"lat", "lon", "planted", "colour", "name"}
    assert found["name"]["what"] == "is missing"


def test_what_only_the_intake_knows_comes_in_the_same_shape(adviser):
    sent = ENROLLED | {"name": "In The Sea", "lat": 0.0, "lon": -150.0}

    assert read(adviser.post("/fields", json=sent), 422)


@pytest.mark.parametrize(
    ("change", "where"),
    [({"rain_mm": 301}, "rain_mm"), ({"rain_mm": None}, "rain_mm"), ({"harvested": True}, "date")],
)
def test_an_observation_that_is_wrong_says_where(scene, adviser, change, where):
    answer = adviser.post(f"/fields/{scene.fields[0].id}/observations", json=RAIN | change)

    assert where in read(answer, 422)


BROKEN = [
    b"",
    b"{",
    b"[]",
    b"null",
    b"1e999",
    b'{"date": NaN}',
    b'{"date": "2026-06-01", "wall_class": Infinity}',
    b'{"a": ' + b"9" * 5000 + b"}",
    b"[" * 20_000,
    b"\xff\xfe",
    b'{"\\ud800": 1}',
    b'{"date": "\\ud800", "wall_class": 1, "note": "\\u0000"}',
]


@pytest.mark.parametrize("body", BROKEN, ids=range(len(BROKEN)))
def test_a_body_that_is_no_card(scene, adviser, body):
    path = f"/fields/{scene.fields[0].id}/digs"
    answer = adviser.post(path, content=body, headers={"Content-Type": "application/json"})

    read(answer, 400 if answer.status_code == 400 else 422)


def test_a_body_that_is_too_long(scene, adviser):
    path = f"/fields/{scene.fields[0].id}/digs"

    read(adviser.post(path, json=DUG | {"note": "a" * 70_000}), 413)
    photo = {"file": ("wall.jpg", b"a" * 12_100_000, "image/jpeg")}
    read(adviser.post(f"{path}/1/photos", files=photo), 413)


def test_a_failure_of_ours_tells_nothing_of_our_inside(scene, monkeypatch):
    def broken(*_args, **_more):
        raise RuntimeError("password=hunter2")

    client = program(scene, "adviser")
    monkeypatch.setattr("rootbound_service.web.api.account.counted", broken)
    answer = client.get("/today")

    read(answer, 500)
    assert "hunter2" not in answer.text


def test_a_search_with_a_sign_that_no_name_has(adviser):
    assert "q" in read(adviser.get("/fields?q=a%00b"), 422)


def test_nothing_is_kept_by_anybody_in_between(adviser):
    answer = adviser.get(f"http://127.0.0.1:8040{V1}/fields")

    assert answer.headers["cache-control"] == "private, no-store"
    assert answer.headers["x-content-type-options"] == "nosniff"
