"""Who may call what: no token, a spent one, too small a one, and nothing of another account.

RFC 6750 3: a request without a token is answered 401 with ``WWW-Authenticate: Bearer``, one with
a token that does not hold with ``error="invalid_token"``. OWASP API Security Top 10 2023, API1
and API5: no number in an address opens what is another's, and no role does what is not its own.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select, update

from browser.app_scene import JPEG
from browser.app_walk import routes_of
from rootbound_service.store.accounts import put_member, put_operator
from rootbound_service.store.api_tokens import SCOPES, new_token
from rootbound_service.store.invitations import Guest, invite
from rootbound_service.store.schema import api_token, dig, field, note, observation, photo, season
from rootbound_service.web.access.reader import PLAIN_COOKIE
from rootbound_service.web.api.rate import MOST
from service.web.api.caller import (
    DUG,
    ENROLLED,
    RAIN,
    SOMEBODY,
    SQUARE,
    V1,
    anybody,
    program,
    token,
)
from service.web.stores import gone, new, stand

OPEN = (f"{V1}/openapi.json", f"{V1}/docs")
BODIES = {
    "/fields": ENROLLED,
    "/digs": DUG,
    "/observations": RAIN,
    "/withdraw": {"note": ""},
    "/silence": {"days": 1},
    "/role": {"role": "viewer"},
    "/outline": SQUARE,
    "/invitations": SOMEBODY,
}
SCOPE_OF = {
    "POST /fields": "enrol",
    "PATCH /fields/{field_id}": "enrol",
    "PUT /fields/{field_id}/outline": "enrol",
    "DELETE /fields/{field_id}/outline": "enrol",
    "POST /fields/{field_id}/digs": "dig",
    "POST /fields/{field_id}/digs/{dig_id}/photos": "dig",
    "POST /fields/{field_id}/observations": "observe",
    "POST /observations/{observation_id}/withdraw": "observe",
    "POST /notes/{note_id}/seen": "observe",
    "POST /fields/{field_id}/silence": "observe",
    "POST /people/{person_id}/role": "people",
    "POST /invitations": "people",
    "POST /invitations/{invitation_id}/withdraw": "people",
}
ADVISERS_ONLY = {"GET /people", "GET /invitations", "GET /changes"}
ON_A_FIELD = {"dig", "observation", "silence", "acknowledgement", "photo", "soil_answer"}
"""Tables of what is recorded on a field that is there already."""
KEEPERS_ONLY = {"GET /operate/health"}


def calls(scene):
    """Every call of the API, as method and path."""
    every = [one for one in routes_of(scene.app) if one.path.startswith(f"{V1}/")]
    return [one for one in every if one.path not in OPEN and one.method != "HEAD"]


def name_of(route):
    return f"{route.method} {route.path.removeprefix(V1)}"


def numbers(scene, account):
    """Numbers of what one account has, by their names in addresses."""
    with scene.service.engine.begin() as conn:
        one = conn.execute(
            select(field.c.id, season.c.id.label("season"))
            .join(season, season.c.field_id == field.c.id)
            .where(field.c.account_id == account)
            .order_by(field.c.id)
        ).first()
        here = {"dig_id": dig, "note_id": note, "observation_id": observation}
        found = {
            name: conn.scalar(select(table.c.id).where(table.c.season_id == one.season)) or 1
            for name, table in here.items()
        }
        found["photo_id"] = conn.scalar(select(photo.c.id)) or 1
        guest = Guest("Ann Miller", "ann@example.org", "grower")
        found["invitation_id"] = invite(
            conn, account, scene.people["adviser"].id, guest, scene.clock.now()
        )
    who = "adviser" if account == scene.account else "other adviser"
    return found | {"field_id": one.id, "person_id": scene.people[who].id, "year": 2026}


def call(client, route, values):
    """Make a call with everything in it that the schema wants."""
    path = route.filled(**values).removeprefix(V1)
    if route.method in {"GET", "HEAD"}:
        return client.request(route.method, path)
    if path.endswith("/photos"):
        return client.post(path, files={"file": ("wall.jpg", b"no picture", "image/jpeg")})
    if route.method == "PATCH":
        return client.patch(path, json={"elevation_m": 300})
    body = next((one for end, one in BODIES.items() if path.endswith(end)), None)
    if "invitations/" in path or route.method == "DELETE":
        body = None
    return client.request(route.method, path, json=body)


def test_the_tests_know_every_call(scene):
    changing = {name_of(one) for one in calls(scene) if one.method != "GET"}

    assert changing == set(SCOPE_OF)
    assert len(calls(scene)) > 25


def test_no_call_is_answered_without_a_token(scene):
    values, before = numbers(scene, scene.account), stand(scene.service.engine)
    for route in calls(scene):
        answer = call(anybody(scene), route, values)

        assert answer.status_code == 401, route
        assert answer.headers["www-authenticate"] == "Bearer"
        assert answer.headers["content-type"] == "application/problem+json"
    assert stand(scene.service.engine) == before


def test_a_cookie_opens_nothing_here(scene):
    browser = anybody(scene)
    browser.cookies.set(PLAIN_COOKIE, scene.who["adviser"].key)

    assert browser.get("/fields").status_code == 401


@pytest.mark.parametrize("key", ["rb_made-up", "", "é", "a" * 5000])
def test_a_token_that_is_none_is_told_so(scene, key):
    answer = anybody(scene, Authorization=b"Bearer " + key.encode("latin-1")).get("/fields")

    assert answer.status_code == 401
    assert answer.headers["www-authenticate"].startswith("Bearer")


def test_an_ended_token_and_one_past_its_end_open_nothing(scene):
    short, ended = token(scene, "adviser", days=1), token(scene, "adviser")
    with scene.service.engine.begin() as conn:
        last = select(api_token.c.id).order_by(api_token.c.id.desc()).limit(1).scalar_subquery()
        now = scene.clock.now()
        conn.execute(update(api_token).where(api_token.c.id == last).values(ended_at=now))
    assert anybody(scene, Authorization=f"Bearer {ended}").get("/me").status_code == 401
    assert anybody(scene, Authorization=f"Bearer {short}").get("/me").status_code == 200
    scene.clock.set(now + timedelta(days=1))
    try:
        late = anybody(scene, Authorization=f"Bearer {short}").get("/me")
    finally:
        scene.clock.set(now)

    assert late.status_code == 401
    assert "invalid_token" in late.headers["www-authenticate"]


def test_nothing_of_one_account_is_there_for_another(scene):
    values, engine = numbers(scene, scene.account), scene.service.engine
    for word in ("other adviser", "other grower"):
        client, before = program(scene, word), stand(engine)
        for route in calls(scene):
            of_a_thing = {*route.parameters} - {"year"}
            answer = call(client, route, values)
            told = answer.text + str(answer.headers)

            if of_a_thing:
                wanted = 403 if word == "other grower" and scoped_out(route) else 404
                assert answer.status_code == wanted, (word, route, answer.text)
            assert not [one for one in scene.secrets if one in told], (word, route)
        after = stand(engine)
        assert gone(before, after, "api_token") == []
        assert [name for name, _ in new(before, after) if name in ON_A_FIELD] == []


def test_a_dig_of_another_field_is_not_there_behind_ones_own(scene):
    theirs, mine = numbers(scene, scene.account), numbers(scene, scene.other_account)
    client, before = program(scene, "other adviser"), stand(scene.service.engine)
    path = f"/fields/{mine['field_id']}/digs/{theirs['dig_id']}"
    photo_ = {"file": ("wall.jpg", JPEG, "image/jpeg")}

    assert client.post(f"{path}/photos", files=photo_).status_code == 404
    assert client.get(f"{path}/meaning").status_code == 404
    assert new(before, stand(scene.service.engine), "api_token") == []


def scoped_out(route):
    """Calls that a grower's token may not make at all, whatever they are on."""
    return SCOPE_OF.get(name_of(route)) in {"enrol", "people"}


@pytest.mark.parametrize("left_out", SCOPES)
def test_a_token_does_nothing_without_the_scope(scene, left_out):
    client = program(scene, "adviser", tuple(one for one in SCOPES if one != left_out))
    values, before = numbers(scene, scene.account), stand(scene.service.engine)
    for route in calls(scene):
        if SCOPE_OF.get(name_of(route), "read") == left_out:
            answer = call(client, route, values)

            assert answer.status_code == 403, route
            assert left_out in answer.json()["detail"]
    assert new(before, stand(scene.service.engine), "api_token") == []


def test_a_viewer_reads_everything_and_changes_nothing(scene):
    client, values = program(scene, "viewer"), numbers(scene, scene.account)
    path = f"/fields/{values['field_id']}/outline"
    assert program(scene, "adviser").put(path, json=SQUARE).status_code == 200
    before = stand(scene.service.engine)
    for route in calls(scene):
        status = call(client, route, values).status_code
        apart = name_of(route) in ADVISERS_ONLY | KEEPERS_ONLY

        assert status == (403 if route.method != "GET" or apart else 200), route
    assert new(before, stand(scene.service.engine), "api_token") == []


def test_a_grower_sees_and_digs_on_their_own_fields_only(scene):
    client = program(scene, "grower")
    mine = [one for one in scene.fields if one.grower.id == scene.people["grower"].id]
    other = next(one for one in scene.fields if one.grower.id != scene.people["grower"].id)

    listed = client.get("/fields").json()["fields"]
    assert [one["id"] for one in listed] == [one.id for one in mine]
    assert client.get("/today").json()["fields"] == len(mine)
    assert client.get(f"/fields?grower={other.grower.id}").json()["fields"] == []
    assert client.get(f"/fields/{other.id}").status_code == 404
    assert client.post(f"/fields/{other.id}/digs", json=DUG).status_code == 404
    assert client.post(f"/fields/{mine[0].id}/digs", json=DUG).status_code == 201
    assert client.post("/fields", json=ENROLLED).status_code == 403
    assert client.post("/invitations", json=SOMEBODY).status_code == 403
    seasons = client.get("/seasons/2026").json()["seasons"]
    assert {one["grower"] for one in seasons} == {mine[0].grower.name}


def test_only_whoever_runs_the_service_sees_how_it_does(scene):
    assert program(scene, "adviser").get("/operate/health").status_code == 403
    with scene.service.engine.begin() as conn:
        keeper, now = scene.people["operator"].id, scene.clock.now()
        put_operator(conn, keeper)
        put_member(conn, scene.other_account, keeper, "viewer")
        key = new_token(conn, scene.other_account, keeper, "watch", ("read",), now, 30)
    answer = anybody(scene, Authorization=f"Bearer {key}").get("/operate/health")

    assert answer.status_code == 200
    assert answer.json()["fields_failed"] == 0
    assert not [one for one in scene.secrets if one in answer.text]


def test_a_token_is_good_for_so_many_calls_a_minute(scene):
    busy, calm = program(scene, "adviser"), program(scene, "adviser")
    busy.get("/me")
    calls_ = scene.app.state.desk.calls
    with scene.service.engine.begin() as conn:
        last = conn.scalars(select(api_token.c.id).order_by(api_token.c.id.desc())).all()
    for _ in range(MOST - 1):
        calls_.allows(str(last[1]))
    answer = busy.get("/me")

    assert answer.status_code == 429
    assert answer.headers["retry-after"] == "60"
    assert answer.json()["status"] == 429
    assert calm.get("/me").status_code == 200
    scene.clock.set(scene.clock.now() + timedelta(minutes=1))
    assert busy.get("/me").status_code == 200


def test_use_is_written_down_once_in_ten_minutes(scene):
    client, now = program(scene, "adviser"), scene.clock.now()
    newest = select(api_token.c.used_at).order_by(api_token.c.id.desc()).limit(1)

    def used():
        with scene.service.engine.connect() as conn:
            return conn.scalar(newest)

    client.get("/me")
    assert used() == now
    scene.clock.set(now + timedelta(minutes=9))
    client.get("/me")
    assert used() == now
    scene.clock.set(now + timedelta(minutes=11))
    client.get("/me")
    assert used() == now + timedelta(minutes=11)


def test_what_is_done_is_logged_as_done_by_a_program(scene):
    client = program(scene, "adviser")
    client.post(f"/fields/{scene.fields[1].id}/digs", json=DUG | {"note": "logged"})
    latest = client.get("/changes?limit=1").json()["changes"][0]

    assert (latest["what"], latest["way"], latest["who"]) == ("dig.add", "api", "Ines Varga")
