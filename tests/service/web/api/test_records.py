"""Digs, photos, observations and notes over the API: kept as sent, and given as kept."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image
from sqlalchemy import select

from rootbound_service.store.schema import acknowledgement, silence
from service.web.api.caller import DUG, RAIN, program


@pytest.fixture(scope="module")
def adviser(scene):
    return program(scene, "adviser")


def test_a_dig_is_kept_as_sent_and_signed(scene, adviser):
    one = scene.fields[8]
    sent = DUG | {"pan_class": 2, "pan_depth_cm": 14.0, "soil_moisture": "moist", "note": "a\nb"}
    answer = adviser.post(f"/fields/{one.id}/digs", json=sent)
    told = adviser.get(f"/fields/{one.id}/digs").json()["digs"][-1]

    assert answer.json() == told
    assert {name: told[name] for name in sent} == sent
    assert told["by"] == "Ines Varga"


def test_rain_is_kept_in_millimetres_whatever_the_grower_reads_in(scene, adviser):
    one = scene.fields[0]
    assert one.grower.units == "us"
    answer = adviser.post(f"/fields/{one.id}/observations", json=RAIN | {"rain_mm": 12.7})

    assert answer.json()["observations"][0]["value"] == pytest.approx(12.7)


def test_one_form_tells_of_several_things(scene, adviser):
    sent = {"date": "2026-07-02", "irrigation_mm": 25, "rolled": False, "note": "after the pass"}
    answer = adviser.post(f"/fields/{scene.fields[5].id}/observations", json=sent)
    told = {one["kind"]: one["value"] for one in answer.json()["observations"]}

    assert told == {"irrigation": 25.0, "rolled": 0.0}


def test_an_observation_taken_back_stays_in_the_list(scene, adviser):
    one = scene.fields[1].id
    sent = adviser.post(f"/fields/{one}/observations", json=RAIN).json()["observations"][0]
    back = adviser.post(f"/observations/{sent['id']}/withdraw", json={"note": "a wrong gauge"})
    again = adviser.post(f"/observations/{sent['id']}/withdraw", json={"note": ""})
    listed = adviser.get(f"/fields/{one}/observations").json()["observations"]

    assert back.status_code == 201
    assert back.json()["withdraws"] == sent["id"]
    assert again.status_code in {201, 422}
    assert [it["id"] for it in listed if it["withdraws"] == sent["id"]] == [back.json()["id"]]
    assert sent["id"] in {it["id"] for it in listed}


def test_a_note_comes_with_what_it_rests_on(scene, adviser):
    one = next(it for it in scene.fields if adviser.get(f"/fields/{it.id}/notes").json()["notes"])
    told = adviser.get(f"/fields/{one.id}/notes").json()["notes"][0]
    whole = adviser.get(f"/notes/{told['id']}").json()

    assert whole.pop("evidence")["past_fingerprint"]
    assert whole == told


def test_what_was_seen_and_silenced_is_the_owners_own(scene, adviser):
    one = next(it for it in scene.fields if adviser.get(f"/fields/{it.id}/notes").json()["notes"])
    note = adviser.get(f"/fields/{one.id}/notes").json()["notes"][0]["id"]
    seen = adviser.post(f"/notes/{note}/seen")
    quiet = adviser.post(f"/fields/{one.id}/silence", json={"days": 3})
    me = scene.people["adviser"].id
    with scene.service.engine.connect() as conn:
        last_seen = conn.execute(select(acknowledgement)).all()[-1]
        last_quiet = conn.execute(select(silence)).all()[-1]

    assert (seen.status_code, quiet.status_code) == (201, 201)
    assert (last_seen.person_id, last_seen.season_id) == (me, one.season_id)
    assert (last_quiet.person_id, last_quiet.field_id) == (me, one.id)
    assert quiet.json()["until"] == last_quiet.until.isoformat()


def test_a_photo_is_drawn_anew_and_kept_once(scene, adviser):
    one = scene.fields[0].id
    dig = adviser.get(f"/fields/{one}/digs").json()["digs"][0]["id"]
    buffer = BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "a camera that tells"
    Image.new("RGB", (64, 48), (90, 60, 40)).save(buffer, "JPEG", exif=exif)
    files = {"file": ("wall.jpg", buffer.getvalue(), "image/jpeg")}
    sent, again = (adviser.post(f"/fields/{one}/digs/{dig}/photos", files=files) for _ in "12")
    picture = adviser.get(sent.json()["path"].removeprefix("/api/v1"))

    assert (sent.status_code, again.json()["id"]) == (201, sent.json()["id"])
    assert (sent.json()["width_px"], sent.json()["height_px"]) == (64, 48)
    assert picture.headers["content-type"] == "image/jpeg"
    assert b"tells" not in picture.content
    assert Image.open(BytesIO(picture.content)).size == (64, 48)
    small = adviser.get(f"{sent.json()['path'].removeprefix('/api/v1')}?small=true")
    assert Image.open(BytesIO(small.content)).format == "JPEG"
    assert adviser.get(f"/photos/{sent.json()['id']}?tiny=true").status_code == 422
    no_picture = {"file": ("wall.jpg", b"%PDF-1.7", "image/jpeg")}
    assert adviser.post(f"/fields/{one}/digs/{dig}/photos", files=no_picture).status_code == 422


def test_a_dig_means_less_in_reach_for_a_smeared_wall(scene, adviser):
    one = scene.fields[3].id  # not dug before
    dug = adviser.post(f"/fields/{one}/digs", json=DUG | {"date": "2026-06-02", "wall_class": 3})
    told = adviser.get(f"/fields/{one}/digs/{dug.json()['id']}/meaning").json()

    assert told["why_not"] == ""
    assert (told["before"]["status"], told["after"]["status"]) == ("unrated", "watched")
    assert told["after"]["reach"] < told["before"]["reach"] == 1.0
    assert adviser.get(f"/fields/{one}/digs/{2**31 - 1}/meaning").status_code == 404
