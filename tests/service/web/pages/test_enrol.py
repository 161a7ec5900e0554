"""Enrolling: what is typed is checked and shown with its soil, and kept once at the last press."""

from __future__ import annotations

import json

import pytest

from rootbound_service.store.audits import entries
from rootbound_service.store.shapes import shape_of
from service.web.pages.enrol_scene import (
    CORNERS,
    RINGS,
    an_enrol_scene,
    hidden_in,
    keep,
)

NAME = "Cedar Quarter"


@pytest.fixture
def scene(tmp_path):
    with an_enrol_scene(tmp_path) as opened:
        yield opened


def test_the_soil_is_shown_before_anything_is_stored(scene):
    page = scene.send(**scene.form())

    assert page.status_code == 200
    assert "Nothing is stored yet" in page.text
    assert "Alder silty clay loam" in page.text
    assert "0.33 m³/m³" in page.text
    assert scene.fields(NAME) == []


def test_agreeing_keeps_the_field_with_its_soil_and_says_so(scene):
    client = scene.client()
    answer = keep(scene)
    (stored,) = scene.fields(NAME)

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/fields/{stored.id}?said=enrolled"
    assert "From tonight on it is followed" in client.get(answer.headers["location"]).text
    assert stored.account_id == scene.app.account
    assert stored.grower.name == "Maren Holt"
    assert stored.adviser.name == "Ines Varga"
    assert round(stored.row_spacing_cm, 2) == 76.2
    assert stored.soil.texture == "silty clay loam"
    assert len(scene.survey.asked) == 1  # what was shown is what is kept, and is asked for once


def test_what_is_kept_is_logged_in_the_account(scene):
    keep(scene)
    with scene.engine.connect() as conn:
        (entry,) = [one for one in entries(conn, scene.app.account) if one.what == "field.enrol"]

    assert (entry.who, entry.way, entry.field_name) == ("Ines Varga", "page", NAME)


def test_pressing_twice_gives_one_field(scene):
    first = keep(scene, form_id="same")
    again = scene.send(**scene.form(step="keep", form_id="same"))

    assert again.headers["location"] == first.headers["location"]
    assert len(scene.fields(NAME)) == 1


def test_a_second_field_of_the_same_name_and_year_is_refused_beside_its_name(scene):
    keep(scene, form_id="one")
    page = scene.send(**scene.form(form_id="two"))

    assert page.status_code == 422
    assert 'aria-describedby="p-name"' in page.text
    assert "has a field of this name here, planted 2026-04-30" in page.text
    assert len(scene.fields(NAME)) == 1


def test_the_next_season_of_a_field_is_announced_and_kept_on_the_same_field(scene):
    keep(scene, form_id="one", planted="2025-10-02")
    page = scene.send(**scene.form(form_id="two"))
    keep(scene, form_id="two")
    (stored,) = scene.fields(NAME)

    assert "enrols its next season" in page.text
    assert stored.planted.isoformat() == "2026-04-30"


def test_every_problem_stands_beside_its_box_and_in_a_list_and_nothing_typed_is_lost(scene):
    wrong = {"lat": "141", "row_spacing": "300", "planted": "2027-01-01", "name": "Mended later"}
    page = scene.send(**scene.form(**wrong))

    assert page.status_code == 422
    for box in ("row_spacing", "planted"):
        assert f'href="#e-{box}"' in page.text
        assert f'id="p-{box}"' in page.text
    assert page.text.count('aria-invalid="true"') >= 2
    assert 'value="Mended later"' in page.text
    assert 'value="300"' in page.text
    assert f'value="{scene.grower}" selected' in page.text


def test_swapped_degrees_are_told_apart(scene):
    page = scene.send(**scene.form(lat="-94.7", lon="41.7"))

    assert page.status_code == 422
    assert "look swapped" in page.text


@pytest.mark.parametrize(
    ("lat", "lon"),
    [("41° 42' 0\" N", "94° 42' W"), ("41.7, -94.7", ""), ("N 41 42", "W 94 42 00")],
)
def test_a_place_is_read_as_people_write_it(scene, lat, lon):
    keep(scene, lat=lat, lon=lon)
    (stored,) = scene.fields(NAME)

    assert (round(stored.lat, 4), round(stored.lon, 4)) == (41.7, -94.7)


def test_corners_make_an_outline_with_its_area_and_middle(scene):
    keep(scene, corners=CORNERS, lat="", lon="")
    (stored,) = scene.fields(NAME)
    with scene.engine.connect() as conn:
        shape, area = shape_of(conn, stored.id)

    assert shape["type"] == "Polygon"
    assert 60 < area < 70  # 1 km by 0.67 km
    assert (round(stored.lat, 3), round(stored.lon, 3)) == (41.7, -94.7)


def test_corners_that_enclose_nothing_are_refused_beside_them(scene):
    page = scene.send(**scene.form(corners="-94.7,41.7 -94.6,41.7"))

    assert page.status_code == 422
    assert 'id="p-corners"' in page.text


def geojson(*names):
    rings = [[*RINGS, RINGS[0]], [(lon + 0.02, lat) for lon, lat in (*RINGS, RINGS[0])]]
    features = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for name, ring in zip(names, rings, strict=False)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def test_an_uploaded_outline_travels_to_the_last_press_and_gives_its_name(scene):
    client = scene.client()
    upload = {"shape": ("a.geojson", geojson("Elm Corner"), "application/json")}
    page = scene.send(client=client, files=upload, **scene.form(name="", lat="", lon=""))
    scene.send(client=client, **hidden_in(page.text), step="keep")
    (stored,) = scene.fields("Elm Corner")

    with scene.engine.connect() as conn:
        assert shape_of(conn, stored.id) is not None


def test_an_outline_is_not_lost_where_something_else_is_wrong(scene):
    upload = {"shape": ("a.geojson", geojson("Elm Corner"), "application/json")}
    page = scene.send(files=upload, **scene.form(lat="", lon="", seed_depth="90"))

    assert page.status_code == 422
    assert "An outline of 16" in page.text  # acres
    assert 'name="outline"' in page.text


def test_of_a_file_of_several_fields_one_is_chosen(scene):
    client = scene.client()
    upload = {"shape": ("a.geojson", geojson("West", "East"), "application/json")}
    page = scene.send(client=client, files=upload, **scene.form(name="", lat="", lon=""))
    assert "The file holds 2 fields" in page.text
    assert "Import all 2" in page.text
    values = hidden_in(page.text)
    soil = scene.send(client=client, **values, shape_number="2", step="soil")
    scene.send(client=client, **hidden_in(soil.text), step="keep")
    (stored,) = scene.fields("East")

    assert round(stored.lon, 2) == -94.68


def test_all_of_a_file_of_several_fields_go_on_to_the_import_with_what_was_typed(scene):
    client = scene.client()
    upload = {"shape": ("a.geojson", geojson("West", "East"), "application/json")}
    page = scene.send(client=client, files=upload, **scene.form(name="", lat="", lon=""))
    first = hidden_in(page.text.partition("</form>")[0])
    preview = scene.send("/fields/import", client=client, **first)

    assert "2 of 2 rows are ready" in preview.text


def test_a_file_that_is_no_outline_is_refused_in_words(scene):
    upload = {"shape": ("a.xyz", b"\x00\x01\x02 nothing", "application/octet-stream")}
    page = scene.send(files=upload, **scene.form())

    assert page.status_code == 422
    assert 'id="p-shape"' in page.text
    assert scene.fields(NAME) == []
