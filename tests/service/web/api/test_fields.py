"""Fields over the API: what they say is what the nights found, and what is sent is kept."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rootbound_service.store.audits import entries
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.risk import risk_history
from rootbound_service.store.schema import field
from rootbound_service.store.soil import soil_values
from service.web.api.caller import ENROLLED, SQUARE, program


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


def has_water(scene, field):
    """Whether a field that was dug still has water in reach."""
    row = last_row(scene, field)
    return row.status == "watched" and (row.water_in_reach_mm or 0.0) > 1.0


def test_the_season_has_a_value_for_each_of_its_days(scene, adviser):
    one = next(field for field in scene.fields if has_water(scene, field))
    told = adviser.get(f"/fields/{one.id}/season").json()
    past = [told[name] for name in ("rain_mm", "held_water_mm", "free_water_mm", "reach")]
    ahead = [told[name] for name in ("held_low_mm", "held_middle_mm", "held_high_mm")]

    assert told["first"] == one.planted.isoformat()
    assert len({len(values) for values in past}) == 1
    assert len({len(values) for values in ahead}) == 1
    assert len(ahead[0]) > 10
    rows = zip(*ahead, strict=True)
    assert all(low <= middle <= high for low, middle, high in rows)
    row = last_row(scene, one)
    yesterday = (row.night - date.fromisoformat(told["ahead_first"])).days - 1
    assert row.water_in_reach_mm > 1.0
    assert told["held_middle_mm"][yesterday] == pytest.approx(row.water_in_reach_mm, abs=0.1)
    day_of_use_mm = 8.0
    assert 0.0 < told["held_water_mm"][-1] - told["held_middle_mm"][0] < day_of_use_mm


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


def test_an_outline_is_kept_measured_and_taken_away(scene, adviser):
    path = f"/fields/{scene.fields[0].id}/outline"
    assert adviser.delete(path).status_code in {204, 404}
    assert adviser.get(path).status_code == 404
    kept = adviser.put(path, json=SQUARE)

    assert kept.status_code == 200, kept.text
    # WGS 84: a degree of latitude there is 111.07 km, one of longitude 83.34 km (NGA.STND.0036)
    assert kept.json()["area_ha"] == pytest.approx(0.006 * 83.34 * 0.004 * 111.07 * 100, rel=2e-3)
    assert kept.json() == adviser.get(path).json()
    assert adviser.delete(path).status_code == 204
    assert adviser.delete(path).status_code == 404


@pytest.mark.parametrize(
    "rings",
    [
        [[[41.618, -94.923], [41.618, -94.917], [41.622, -94.917], [41.618, -94.923]]],
        [[[-94.92, 41.62], [-94.91, 41.62]]],
        [[[-93.92, 41.618], [-93.917, 41.618], [-93.917, 41.622], [-93.92, 41.618]]],
        [[[-94.92, 41.61], [-94.91, 41.62], [-94.92, 41.62], [-94.91, 41.61], [-94.92, 41.61]]],
    ],
    ids=["turned", "a line", "elsewhere", "crossed"],
)
def test_an_outline_of_no_field_there_is_refused(scene, adviser, rings):
    sent = {"type": "Polygon", "coordinates": rings}
    answer = adviser.put(f"/fields/{scene.fields[0].id}/outline", json=sent)

    assert answer.status_code == 422
    assert answer.json()["problems"][0]["where"].startswith("coordinates")
