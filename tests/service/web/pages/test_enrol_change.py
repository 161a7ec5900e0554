"""Correcting what was enrolled: what changed is kept and logged, the rest stays."""

from __future__ import annotations

import pytest

from rootbound_service.records import SoilRecord
from rootbound_service.store.audits import entries
from rootbound_service.store.shapes import shape_of
from rootbound_service.store.soil import change_by_hand
from service.web.pages.enrol_scene import CORNERS, an_enrol_scene


@pytest.fixture
def scene(tmp_path):
    with an_enrol_scene(tmp_path) as opened:
        yield opened


@pytest.fixture
def one(scene):
    return scene.app.fields[0]


def change(scene, one, **changes):
    usual = {"name": one.name, "lat": f"{one.lat}", "lon": f"{one.lon}", "crop": one.crop,
             "planted": one.planted.isoformat(), "row_spacing": "30", "seed_depth": "1.969",
             "black_layer_gdd_f": "2650", "step": "field"}  # fmt: skip
    return scene.send(f"/fields/{one.id}/change", **usual | changes)


def again(scene, one):
    return next(it for it in scene.fields() if it.id == one.id)


def logged(scene, what):
    with scene.engine.connect() as conn:
        return [it for it in entries(conn, scene.app.account) if it.what == what]


def test_the_page_shows_what_is_stored(scene, one):
    text = scene.client().get(f"/fields/{one.id}/change").text

    assert f'value="{one.name}"' in text
    assert f'value="{one.planted}"' in text
    assert 'name="texture"' in text


def test_a_slip_of_the_pen_is_corrected_and_people_and_digs_stay(scene, one):
    answer = change(scene, one, irrigated="yes", planted="2026-04-18", black_layer_gdd_f="")
    after = again(scene, one)

    assert answer.headers["location"] == f"/fields/{one.id}?said=changed"
    assert (after.irrigated, after.planted.isoformat(), after.black_layer_gdd_f) == (
        True,
        "2026-04-18",
        None,
    )
    assert (after.grower, after.adviser, after.season_id) == (
        one.grower,
        one.adviser,
        one.season_id,
    )
    assert len(after.digs) == 1
    (entry,) = logged(scene, "field.change")
    assert {"irrigated", "planted", "black_layer_gdd_f"} <= set(entry.detail["changed"])


def test_a_field_that_moves_forgets_the_elevation_and_keeps_what_was_entered_by_hand(scene, one):
    change(scene, one, lat="41.8", lon="-94.8")
    after = again(scene, one)

    assert (after.lat, after.lon, after.elevation_m) == (41.8, -94.8, None)
    assert after.soil == SoilRecord(texture="loam", organic_matter_pct=3.0)


def test_an_outline_is_added_and_taken_away(scene, one):
    change(scene, one, corners=CORNERS)
    with scene.engine.connect() as conn:
        shape, _ = shape_of(conn, one.id)
    assert shape["type"] == "Polygon"
    assert round(again(scene, one).lat, 3) == 41.7

    change(scene, again(scene, one), no_outline="yes")
    with scene.engine.connect() as conn:
        assert shape_of(conn, one.id) is None


def test_a_planting_date_after_the_first_dig_is_refused_beside_it(scene, one):
    page = change(scene, one, planted="2026-06-20")

    assert page.status_code == 422
    assert 'id="p-planted"' in page.text
    assert again(scene, one).planted == one.planted


def test_a_name_that_the_grower_uses_already_is_refused(scene, one):
    page = change(scene, one, name=scene.app.fields[3].name.upper())

    assert page.status_code == 422
    assert "has another field of this name" in page.text


def test_keeping_the_page_as_it_stands_changes_and_logs_nothing(scene, one):
    before = again(scene, one)
    assert 'value="1.969"' in scene.client().get(f"/fields/{one.id}/change").text
    change(scene, one)

    assert logged(scene, "field.change") == []
    assert again(scene, one) == before


def test_the_soil_is_entered_and_taken_back_by_hand(scene, one):
    path = f"/fields/{one.id}/change"
    scene.send(path, step="soil", texture="silt loam", clay_pct="19")
    after = again(scene, one)

    assert (after.soil.texture, after.soil.clay_pct, after.soil.organic_matter_pct) == (
        "silt loam",
        19.0,
        None,
    )
    (entry,) = logged(scene, "soil.change")
    assert entry.detail == {"set": ["clay_pct", "texture"], "cleared": ["organic_matter_pct"]}


def test_a_wrong_soil_value_is_told_beside_its_box_and_nothing_changes(scene, one):
    page = scene.send(f"/fields/{one.id}/change", step="soil", clay_pct="200", texture="loam")

    assert page.status_code == 422
    assert 'id="p-clay_pct"' in page.text
    assert 'value="200"' in page.text
    assert again(scene, one).soil == one.soil


def test_the_soil_services_are_asked_again_at_a_press(scene, one):
    with scene.engine.begin() as conn:
        change_by_hand(conn, one.id, {}, ("texture", "organic_matter_pct"), scene.app.clock.now())
    scene.send(f"/fields/{one.id}/change", step="fetch")

    assert scene.survey.asked == [(one.lat, one.lon)]
    assert again(scene, one).soil.texture == "silty clay loam"


def test_another_accounts_field_is_not_there_to_be_changed(scene, one):
    theirs = scene.app.other
    path = f"/fields/{theirs.id}/change"

    assert scene.client().get(path).status_code == 404
    assert change(scene, theirs, name="Taken").status_code == 404
    assert again(scene, theirs).name == theirs.name
