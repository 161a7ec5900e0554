"""What the dig card takes, refuses and keeps, and who may send it."""

from __future__ import annotations

import json
from io import BytesIO
from uuid import uuid4

import pytest
from PIL import Image
from sqlalchemy import select

from browser.app_scene import WHEN, an_app, proof_in
from rootbound_service.store.fields import list_fields
from rootbound_service.store.photos import photos_of_season
from rootbound_service.store.schema import audit

JSON = {"accept": "application/json"}


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("dig")) as opened:
        yield opened


def digs(scene, field):
    with scene.service.engine.connect() as conn:
        return next(one for one in list_fields(conn) if one.id == field.id).digs


def send(scene, field, word="adviser", headers=None, files=None, **typed):
    client = scene.client(scene.who[word])
    page = client.get(f"/fields/{field.id}/dig").text
    typed = {"date": "2026-06-20", "form_id": str(uuid4()), "wall-1": "2"} | typed
    given = {name: value for name, value in typed.items() if value is not None}
    given["form_token"] = proof_in(page) if "form_token" in page else "none"
    return client.post(f"/fields/{field.id}/dig", data=given, headers=headers, files=files)


def refused(answer):
    assert answer.status_code == 422
    return {one["spot"]: one["text"] for one in answer.json()["problems"]}


def a_photo(side=30, kind="PNG"):
    out = BytesIO()
    Image.new("RGB", (side, side), (120, 90, 60)).save(out, kind)
    return out.getvalue()


def test_plants_are_summed_to_one_card(scene):
    field = scene.fields[0]
    typed = {"crossing-1": "4", "held-1": "2", "seed-1": "2", "wall-2": "3", "wall-3": "1"}
    typed |= {"crossing-3": "1", "held-3": "7", "seed-3": "1,5", "soil_moisture": "dry"}
    answer = send(scene, field, note="headland", **typed)
    stored = digs(scene, field)[-1]

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/fields/{field.id}/dig/{stored.id}"
    assert (stored.plants, stored.crossing, stored.held, stored.wall_class) == (3, 5, 9, 2)
    assert stored.seed_depth_cm == pytest.approx(1.75 * 2.54, abs=0.01)
    assert (stored.by, stored.recorded_at, stored.note) == ("Ines Varga", WHEN, "headland")


@pytest.mark.parametrize(
    ("walls", "card"), [("2", 2), ("13", 3), ("012", 1), ("0033", 3), ("01123", 1)]
)
def test_the_wall_of_the_card_is_the_middle_plants_and_the_worse_of_two(scene, walls, card):
    field = scene.fields[1]
    send(scene, field, **{f"wall-{n}": wall for n, wall in enumerate(walls, 1)})

    assert max(digs(scene, field), key=lambda one: one.id).wall_class == card


def test_the_same_card_sent_twice_is_one_with_one_set_of_photos(scene):
    field, form_id = scene.fields[2], str(uuid4())
    files = {"photo": ("a.png", a_photo(), "image/png")}
    before = len(digs(scene, field))
    first = send(scene, field, form_id=form_id, files=files)
    second = send(scene, field, form_id=form_id, files=files, note="sent again")

    assert first.headers["location"] == second.headers["location"]
    assert len(digs(scene, field)) == before + 1
    with scene.service.engine.connect() as conn:
        assert len(photos_of_season(conn, field.season_id)) == 1
        logged = conn.execute(select(audit).where(audit.c.field_id == field.id)).all()
    assert len([one for one in logged if one.what == "dig.add"]) == 1


@pytest.mark.parametrize(
    ("typed", "spot", "words"),
    [
        ({"held-1": "3"}, "c-1", "count both"),
        ({"crossing-2": "-1", "held-2": "3"}, "c-2", "whole number"),
        ({"crossing-2": "999999999999", "held-2": "3"}, "c-2", "whole number"),
        ({"crossing-2": "٣", "held-2": "3"}, "c-2", "whole number"),
        ({"seed-1": "nan"}, "s-1", "0.4 to 4.7 in"),
        ({"seed-1": "40"}, "s-1", "0.4 to 4.7 in"),
        ({"seed-1": "deep"}, "s-1", "give a number"),
        ({"pan_class": "2"}, "d-pan", "0.8 to 31 in"),
        ({"pan_class": "2", "pan_depth": "inf"}, "d-pan", "0.8 to 31 in"),
        ({"pan_class": "9", "pan_depth": "6"}, "p-0", "0 to 3"),
        ({"date": "2027-01-01"}, "d-date", "give the day of the dig"),
        ({"date": "2026-01-01"}, "d-date", "dig after planting"),
        ({"date": ""}, "d-date", ""),
        ({"soil_moisture": "soggy"}, "d-moist", ""),
        ({"wall-1": None}, "w-1-0", "one plant at least"),
        ({"wall-1": "7"}, "w-1-0", "one plant at least"),
    ],
)
def test_what_cannot_be_right_is_named_with_its_input_in_the_diggers_unit(
    scene, typed, spot, words
):
    field = scene.fields[0]
    before = len(digs(scene, field))
    found = refused(send(scene, field, headers=JSON, **typed))

    assert words in found[spot]
    assert len(found) == 1
    assert len(digs(scene, field)) == before


def test_every_problem_is_told_at_once_and_nothing_typed_is_lost(scene):
    field = scene.fields[0]
    answer = send(
        scene, field, **{"held-1": "x", "crossing-1": "2", "date": "2026-01-01"}, note="<b>"
    )

    assert answer.status_code == 422
    assert 'href="#h-1"' in answer.text
    assert 'href="#d-date"' in answer.text
    assert 'id="wrong-h-1"' in answer.text
    assert 'aria-describedby="wrong-h-1"' in answer.text
    assert 'value="x"' in answer.text
    assert "&lt;b&gt;" in answer.text


def test_a_metric_reader_types_centimetres(scene):
    assert (
        "[in]" in scene.client(scene.who["adviser"]).get(f"/fields/{scene.fields[0].id}/dig").text
    )


def test_a_file_that_is_no_photo_refuses_the_card_and_says_which(scene):
    field = scene.fields[0]
    before = len(digs(scene, field))
    files = [
        ("photo", ("a.png", a_photo(), "image/png")),
        ("photo", ("b.jpg", b"<svg onload='x'>", "image/jpeg")),
    ]
    found = refused(send(scene, field, headers=JSON, files=files))

    assert found["d-photo"].startswith("photo 2")
    assert len(digs(scene, field)) == before


def test_thirteen_photos_are_too_many(scene):
    files = [("photo", (f"{n}.png", a_photo(4), "image/png")) for n in range(13)]

    assert (
        "at most 12" in refused(send(scene, scene.fields[0], headers=JSON, files=files))["d-photo"]
    )


def test_a_photo_is_a_jpeg_for_readers_of_its_field_only(scene):
    path = f"/photos/{scene.photo}"
    answer = scene.client(scene.who["adviser"]).get(path)

    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert "sandbox" in answer.headers["content-security-policy"]
    assert answer.headers["cache-control"].startswith("private")
    assert answer.content[:2] == b"\xff\xd8"
    for word in ("other adviser", "other grower"):
        assert scene.client(scene.who[word]).get(path).status_code == 404
    assert scene.client().get(path).status_code == 303


def test_a_grower_records_on_own_fields_only(scene):
    own, others = scene.fields[0], scene.fields[1]  # the second is another grower's

    assert send(scene, own, "grower").status_code == 303
    assert digs(scene, own)[-1].by == "Maren Holt"
    assert scene.client(scene.who["grower"]).get(f"/fields/{others.id}/dig").status_code == 404


def test_who_looks_on_may_not_record(scene):
    client = scene.client(scene.who["viewer"])
    field = scene.fields[0]
    token = proof_in(client.get("/me").text)
    answer = client.post(f"/fields/{field.id}/dig", data={"form_token": token, "wall-1": "2"})

    assert client.get(f"/fields/{field.id}/dig").status_code == 403
    assert answer.status_code == 403


def test_cautions_stand_before_the_card(scene):
    text = scene.client(scene.who["adviser"]).get(f"/fields/{scene.fields[0].id}/dig").text

    assert text.index("call 811") < text.index("<form")


def test_a_phone_asks_who_is_signed_in_before_it_sends_what_waits(scene):
    client = scene.client(scene.who["grower"])
    found = json.loads(client.get("/dig/ready").text)

    assert found["person"] == scene.people["grower"].id
    assert proof_in(client.get("/me").text) == found["token"]
    assert scene.client().get("/dig/ready").status_code == 303
