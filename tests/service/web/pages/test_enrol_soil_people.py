"""Enrolling: the soil that is shown and may be known better; people of other accounts."""

from __future__ import annotations

import pytest

from rootbound_service.store.contacts import consents_of, contacts_of
from rootbound_service.web.pages import enrol_soil
from service.web.pages.enrol_scene import (
    BUSY,
    an_enrol_scene,
    hidden_in,
    keep,
)

NAME = "Cedar Quarter"


@pytest.fixture
def scene(tmp_path):
    with an_enrol_scene(tmp_path) as opened:
        yield opened


def test_a_soil_service_that_fails_stops_nobody(tmp_path):
    with an_enrol_scene(tmp_path, BUSY) as scene:
        page = scene.send(**scene.form())
        assert "No soil data now" in page.text
        assert "is fetched in the nights" in page.text
        keep(scene)
        (stored,) = scene.fields(NAME)

    assert not stored.soil.is_known


def test_nobody_waits_long_for_the_soil(scene, monkeypatch):
    from threading import Event

    stuck = Event()
    monkeypatch.setattr(scene.survey.__class__, "fetch", lambda *_: stuck.wait(30))
    found = enrol_soil.soil_at(
        scene.app.service, enrol_soil.SoilMemory(), scene.app.fields[0], wait_s=0.05
    )
    stuck.set()

    assert found.profile is None
    assert "no soil service answered" in found.reasons[0]


def test_who_knows_the_soil_better_says_so_and_it_is_kept_as_theirs(scene):
    client = scene.client()
    page = scene.send(client=client, **scene.form())
    scene.send(client=client, **hidden_in(page.text), step="keep", texture="loam", clay_pct="22")
    (stored,) = scene.fields(NAME)

    assert (stored.soil.texture, stored.soil.clay_pct) == ("loam", 22.0)
    assert stored.soil.origins["texture"] == "entered by hand"


def test_a_wrong_soil_value_brings_the_soil_back_with_the_problem_beside_it(scene):
    client = scene.client()
    page = scene.send(client=client, **scene.form())
    again = scene.send(client=client, **hidden_in(page.text), step="keep", clay_pct="95")

    assert again.status_code == 422
    assert 'id="p-clay_pct"' in again.text
    assert 'value="95"' in again.text
    assert "Enrol Cedar Quarter" in again.text
    assert scene.fields(NAME) == []


def test_going_back_to_the_form_finds_everything_typed(scene):
    client = scene.client()
    page = scene.send(client=client, **scene.form(black_layer_gdd_f="2710", irrigated="yes"))
    form = scene.send(client=client, **hidden_in(page.text), step="change")

    assert form.status_code == 200
    assert f'value="{NAME}"' in form.text
    assert 'value="2710"' in form.text
    assert 'value="yes" checked' in form.text


def test_a_new_grower_is_told_of_on_the_page_and_agrees_by_enrolment(scene):
    assert "They can stop any time" in scene.client().get("/fields/new").text
    new = {"grower": "new", "grower_name": "Hanna Oster", "grower_email": "hanna@alder.example"}
    keep(scene, **new)
    (stored,) = scene.fields(NAME)
    with scene.engine.connect() as conn:
        (way,) = [one for one in contacts_of(conn) if one.person_id == stored.grower.id]
        (agreed,) = consents_of(conn, way.id)

    assert stored.grower.name == "Hanna Oster"
    assert way.digest_day == 0
    assert "how to stop it" in agreed.wording


def test_a_new_growers_address_is_checked_beside_its_box(scene):
    new = {"grower": "new", "grower_name": "Hanna Oster", "grower_email": "hanna"}
    page = scene.send(**scene.form(**new))

    assert page.status_code == 422
    assert 'id="p-grower_email"' in page.text
    assert 'id="p-grower"' not in page.text


def test_somebody_of_another_account_is_neither_named_nor_changed(scene):
    before, people = scene.app.people["other grower"], scene.people()
    new = {"grower": "new", "grower_name": "Somebody Else", "grower_email": before.email.upper()}
    for step in ("soil", "keep"):
        page = scene.send(**scene.form(step=step, **new))
        assert page.status_code == 422
        assert before.name not in page.text
        assert "invite them under People" in page.text

    (theirs,) = [one for one in scene.fields() if one.grower.id == before.id]
    assert theirs.grower.name == "Petra Nystad"
    assert scene.people() == people
    assert scene.fields(NAME) == []


def test_a_field_of_the_same_name_in_another_account_stays_as_it_is(scene):
    (before,) = scene.fields("Sable Corner")
    keep(scene, name="Sable Corner")
    found = {one.account_id: one for one in scene.fields("Sable Corner")}

    assert found[scene.app.other_account] == before
    assert found[scene.app.account].lat == 41.7


def test_a_person_of_another_account_cannot_be_chosen_by_their_number(scene):
    page = scene.send(**scene.form(grower=str(scene.app.people["other grower"].id)))

    assert page.status_code == 422
    assert "Petra Nystad" not in page.text
    assert 'id="p-grower"' in page.text


@pytest.mark.parametrize("word", ["grower", "viewer"])
@pytest.mark.parametrize("path", ["/fields/new", "/fields/1/change", "/fields/import"])
def test_only_advisers_enrol(scene, word, path):
    client = scene.client(word)

    assert client.get(path).status_code == 403
    assert scene.send(path, word, client=client, **scene.form(step="keep")).status_code == 403
    assert scene.fields(NAME) == []


def test_only_the_accounts_own_fields_are_on_the_map(scene):
    text = scene.client("other adviser").get("/fields/new").text

    assert "Sable Corner" in text
    assert "Long Acre" not in text
