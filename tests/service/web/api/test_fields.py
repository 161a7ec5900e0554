"""Fields over the API: what they say is what the nights found, and what is sent is kept."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO

import pytest
from PIL import Image
from sqlalchemy import select

from rootbound_service.store.audits import entries
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.risk import risk_history
from rootbound_service.store.schema import acknowledgement, field, silence
from rootbound_service.store.soil import soil_values
from service.web.api.caller import DUG, ENROLLED, RAIN, SOMEBODY, program


@pytest.fixture(scope="module")
def adviser(scene):
    return program(scene, "adviser")


def last_row(scene, one):
    with scene.service.engine.connect() as conn:
        return risk_history(conn, one.season_id)[-1]


def stored(scene, number):
    with scene.service.engine.connect() as conn:
        return load_fields(conn, field.c.id == number)[0]


def test_a_field_stands_as_its_last_night_found_it(scene, adviser):
    for one in scene.fields:
        row, told = last_row(scene, one), adviser.get(f"/fields/{one.id}").json()["standing"]

        assert told["night"] == row.night.isoformat()
        assert (told["status"], told["rung"], told["free_rung"]) == (
            row.status,
            row.rung,
            row.free_rung,
        )
        for name, figure in (
            ("water_in_reach_mm", row.water_in_reach_mm),
            ("free_water_mm", row.free_water_mm),
            ("chance_7_days", row.chance_7),
            ("reach", row.reach),
        ):
            assert told[name] == (None if figure is None else pytest.approx(figure, abs=6e-4))
        assert told["days_ahead"]["kind"] == row.days_ahead_kind
        assert told["weather_through"] == row.weather_through.isoformat()


def test_a_field_whose_weather_is_too_old_is_unknown(scene, adviser):
    watched = next(one for one in scene.fields if last_row(scene, one).status == "watched")
    now = scene.clock.now()
    scene.clock.set(now + timedelta(days=scene.service.settings.weather_stale_days + 3))
    try:
        told = adviser.get(f"/fields/{watched.id}").json()["standing"]
    finally:
        scene.clock.set(now)

    assert (told["status"], told["rung"]) == ("unknown", None)


def test_the_season_has_a_value_for_each_of_its_days(scene, adviser):
    one = scene.fields[0]
    told = adviser.get(f"/fields/{one.id}/season").json()
    past = [told[name] for name in ("rain_mm", "held_water_mm", "free_water_mm", "reach")]
    ahead = [told[name] for name in ("held_low_mm", "held_middle_mm", "held_high_mm")]

    assert told["first"] == one.planted.isoformat()
    assert len({len(values) for values in past}) == 1
    assert len({len(values) for values in ahead}) == 1
    assert len(ahead[0]) > 10
    rows = zip(*ahead, strict=True)
    assert all(low <= middle <= high for low, middle, high in rows)
    assert told["held_water_mm"][-1] == pytest.approx(last_row(scene, one).water_in_reach_mm, abs=3)


def test_a_field_is_found_by_each_filter(scene, adviser):
    def ids(**asked):
        answer = adviser.get("/fields", params=asked | {"limit": 200})
        return {one["id"] for one in answer.json()["fields"]}

    fields = {one.id: one for one in scene.fields}
    rows = {one.id: last_row(scene, one) for one in scene.fields}
    asked = fields[scene.fields[0].id].grower.id
    assert ids(grower=asked) == {key for key, one in fields.items() if one.grower.id == asked}
    assert ids(crop="soybean") == {key for key, one in fields.items() if one.crop == "soybean"}
    for rung in range(5):
        assert ids(rung=rung) == {
            key for key, row in rows.items() if row.status == "watched" and row.rung == rung
        }
    assert ids(status="unrated") == {k for k, row in rows.items() if row.status == "unrated"}
    assert ids(q="hOLLow") == {key for key, one in fields.items() if one.name == "Hollow Bend"}
    assert ids(q="%") == set()


def test_counts_add_up(scene, adviser):
    told = adviser.get("/today").json()

    assert told["fields"] == sum(told["by_status"].values())
    assert sum(told["by_rung"].values()) == told["by_status"]["watched"]
    assert told["last_night"] == last_row(scene, scene.fields[0]).night.isoformat()


def test_an_enrolled_field_is_there_with_everything_sent(scene, adviser):
    sent = ENROLLED | {"name": "  Kept   Whole ", "irrigated": True, "row_spacing_cm": 50.0}
    answer = adviser.post("/fields", json=sent)
    one = stored(scene, answer.json()["id"])

    assert answer.status_code == 201
    assert answer.json() == adviser.get(f"/fields/{one.id}").json()
    assert (one.name, one.irrigated, one.row_spacing_cm) == ("Kept Whole", True, 50.0)
    assert one.account_id == scene.account
    assert one.adviser.name == "Ines Varga"
    assert one.soil.texture == "silt loam"
    assert answer.json()["standing"] is None


def test_soil_is_changed_by_hand_and_withdrawn(scene, adviser):
    one = scene.fields[6].id
    change = {"soil": {"clay_pct": 31, "water_table_m": 1.5}, "elevation_m": 311}
    answer = adviser.patch(f"/fields/{one}", json=change)

    assert answer.status_code == 200, answer.text
    assert (answer.json()["soil"]["clay_pct"], answer.json()["elevation_m"]) == (31, 311)
    back = adviser.patch(f"/fields/{one}", json={"soil": {"water_table_m": None}})
    assert back.json()["soil"]["water_table_m"] != 1.5
    assert back.json()["soil"]["clay_pct"] == 31
    with scene.service.engine.connect() as conn:
        assert any(it.withdrawn for it in soil_values(conn, one))
        assert entries(conn, scene.account)[0].what == "field.change"


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({}, "body"),
        ({"soil": {}}, "soil"),
        ({"elevation_m": None}, "elevation_m"),
        ({"soil": {"texture": "porridge"}}, "soil.texture"),
        ({"soil": {"clay_pct": 61}}, "soil.clay_pct"),
        ({"soil": {"clay_pct": None}}, "soil.clay_pct"),
        ({"soil": {"field_capacity": 0.2, "wilting_point": 0.3}}, "soil.wilting_point"),
        ({"name": "Other"}, "name"),
    ],
)
def test_a_change_that_cannot_be_changes_nothing(scene, adviser, change, where):
    one = scene.fields[7].id
    before = adviser.get(f"/fields/{one}").json()
    answer = adviser.patch(f"/fields/{one}", json=change)

    assert answer.status_code == 422
    assert where in {it["where"] for it in answer.json()["problems"]}
    assert adviser.get(f"/fields/{one}").json() == before


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
    no_picture = {"file": ("wall.jpg", b"%PDF-1.7", "image/jpeg")}
    assert adviser.post(f"/fields/{one}/digs/{dig}/photos", files=no_picture).status_code == 422


def test_somebody_is_invited_and_uninvited(scene, adviser):
    made = adviser.post("/invitations", json=SOMEBODY)
    listed = adviser.get("/invitations").json()["invitations"]

    assert made.status_code == 201
    assert made.json() in listed
    number = made.json()["id"]
    assert adviser.post(f"/invitations/{number}/withdraw").status_code == 201
    assert adviser.post(f"/invitations/{number}/withdraw").status_code == 404
    assert made.json() not in adviser.get("/invitations").json()["invitations"]


def test_the_last_adviser_stays_one(scene, adviser):
    me = scene.people["adviser"].id
    for role in ("viewer", "grower", "out"):
        answer = adviser.post(f"/people/{me}/role", json={"role": role})

        assert answer.status_code == 422
    assert adviser.get("/me").json()["role"] == "adviser"


def test_a_role_is_changed_and_holds_at_once(scene, adviser):
    viewer, them = program(scene, "viewer"), scene.people["viewer"].id
    assert viewer.get("/people").status_code == 403
    assert adviser.post(f"/people/{them}/role", json={"role": "adviser"}).status_code == 201
    assert viewer.get("/people").status_code == 200
    assert adviser.post(f"/people/{them}/role", json={"role": "out"}).status_code == 201
    assert viewer.get("/me").status_code == 401


def test_a_digest_is_read_where_the_api_says(scene, adviser):
    told = adviser.get("/digests").json()["digests"][0]

    assert told["week"] == "2026-W27"
    assert adviser.get(f"http://127.0.0.1:8040{told['page']}").status_code == 200
