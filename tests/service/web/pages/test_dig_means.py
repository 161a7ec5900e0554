"""What a dig means at once, and where to dig: from the stored weather, without storing anything."""

from __future__ import annotations

from dataclasses import replace

import pytest

from browser.app_scene import an_app
from rootbound_service.store.fields import add_dig, list_fields
from rootbound_service.web.pages import dig_list as room
from rootbound_service.web.pages.dig_meaning import meaning_of
from service.web.stores import gone, new, stand


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    with an_app(tmp_path_factory.mktemp("means")) as opened:
        yield opened


def fields(scene):
    with scene.service.engine.connect() as conn:
        return {one.name: one for one in list_fields(conn)}


def dug(scene, field, **more):
    """A further dig of a field, as its first card with some values changed."""
    sample = next(one.digs[0] for one in fields(scene).values() if one.digs)
    card = replace(sample, form_id="", **more)
    with scene.service.engine.begin() as conn:
        return add_dig(conn, field.season_id, card)


def test_a_first_dig_takes_a_field_from_unrated_to_a_rung(scene):
    field = fields(scene)["Mill Strip"]  # nobody has dug it
    assert field.digs == ()
    card = dug(scene, field, wall_class=3, crossing=4, held=46)
    one = fields(scene)["Mill Strip"]
    meaning = meaning_of(scene.service.parts, one, card, scene.clock.now().date())

    assert meaning.before.as_read.status == "unrated"
    assert meaning.after.as_read.status == "watched"
    assert meaning.after.as_read.rung >= 1
    text = scene.client(scene.who["adviser"]).get(f"/fields/{one.id}/dig/{card.id}").text
    assert "unrated" in text
    assert "Days ahead" in text
    assert "Would more plants change it?" in text
    assert "It counts from tonight." in text


def test_free_roots_mean_a_lower_rung_than_held_ones(scene):
    field = fields(scene)["Badger Flat"]
    held = dug(scene, field, wall_class=3, crossing=1, held=49)
    worse = meaning_of(
        scene.service.parts, fields(scene)[field.name], held, scene.clock.now().date()
    )
    free = dug(scene, field, wall_class=0, crossing=50, held=0, plants=10)
    better = meaning_of(
        scene.service.parts, fields(scene)[field.name], free, scene.clock.now().date()
    )

    assert better.after.as_read.rung < worse.after.as_read.rung
    assert better.before.as_read.rung == worse.after.as_read.rung


def test_looking_at_a_meaning_stores_nothing(scene):
    field = next(one for one in fields(scene).values() if one.digs)
    before = stand(scene.service.engine)
    path = f"/fields/{field.id}/dig/{field.digs[0].id}"
    answer = scene.client(scene.who["adviser"]).get(path)
    after = stand(scene.service.engine)

    assert answer.status_code == 200
    assert gone(before, after, "web_session") == []
    assert new(before, after, "web_session") == []


def test_a_dig_of_another_field_is_not_there(scene):
    with_digs = [one for one in fields(scene).values() if one.digs]
    one, other = with_digs[0], with_digs[1]
    client = scene.client(scene.who["adviser"])

    assert client.get(f"/fields/{one.id}/dig/{other.digs[0].id}").status_code == 404


def test_the_dig_list_names_undug_fields_with_window_and_reason(scene):
    text = scene.client(scene.who["adviser"]).get("/dig-list").text
    undug = [one for one in fields(scene).values() if not one.digs and one.name != "Sable Corner"]

    assert undug
    assert [one.name for one in undug if one.name not in text] == []
    assert "call 811" in text
    assert f'href="/fields/{undug[0].id}/dig"' in text


def test_the_dig_list_is_worked_out_once_until_a_dig_comes(scene, monkeypatch):
    client = scene.client(scene.who["adviser"])
    client.get("/dig-list")
    times = []
    kept = room.gather
    monkeypatch.setattr(room, "gather", lambda *a, **more: times.append(1) or kept(*a, **more))
    client.get("/dig-list")
    assert times == []
    undug = next(one for one in fields(scene).values() if not one.digs)
    dug(scene, undug, wall_class=1)
    text = client.get("/dig-list").text

    assert times == [1]
    assert f'href="/fields/{undug.id}/dig"' not in text


def test_a_grower_sees_own_fields_only_and_who_looks_on_no_way_to_record(scene):
    own = scene.client(scene.who["grower"]).get("/dig-list").text
    others = [one.name for one in scene.fields if one.grower.name != "Maren Holt"]
    watched = scene.client(scene.who["viewer"]).get("/dig-list").text

    assert [name for name in others if name in own] == []
    assert '/dig"' not in watched
