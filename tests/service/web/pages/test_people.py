"""The people of an account: seen by its advisers alone, invited, changed, taken out."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from browser.app_scene import an_app, proof_in
from rootbound_service.store.accounts import members_of, put_member
from rootbound_service.store.schema import audit, invitation, outbox

NELL = {"name": "Nell Orme", "email": "nell@b.example", "role": "grower"}


@pytest.fixture
def scene(tmp_path):
    with an_app(tmp_path, computed=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def still(tmp_path_factory):
    """The same, for tests that change nothing."""
    with an_app(tmp_path_factory.mktemp("people"), computed=False) as opened:
        yield opened


@pytest.fixture
def adviser(scene):
    return scene.client(scene.who["adviser"])


def post(client, path, page="/people", **values):
    return client.post(path, data={"form_token": proof_in(client.get(page).text), **values})


def roles(scene):
    with scene.service.engine.connect() as conn:
        return {one.name: may for one, may in members_of(conn, scene.account)}


def rows(scene, table):
    with scene.service.engine.connect() as conn:
        return conn.execute(select(table).order_by(table.c.id)).all()


@pytest.mark.parametrize("path", ["/people", "/people/1", "/tokens", "/changes"])
def test_a_stranger_is_asked_to_sign_in(still, path):
    answer = still.client().get(path)

    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/sign-in")


@pytest.mark.parametrize("word", ["grower", "viewer"])
@pytest.mark.parametrize("path", ["/people", "/people/1", "/tokens", "/changes"])
def test_only_advisers_look_after_people(still, word, path):
    assert still.client(still.who[word]).get(path).status_code == 403


@pytest.mark.parametrize("word", ["grower", "viewer"])
def test_only_advisers_change_what_somebody_may_do(still, word):
    client, before = still.client(still.who[word]), roles(still)
    grower = still.people["grower"].id
    answer = post(client, f"/people/{grower}/role", page="/me", role="adviser")

    assert answer.status_code == 403
    assert roles(still) == before


def test_people_of_another_account_are_not_there(still):
    other = still.client(still.who["other adviser"])
    grower = still.people["grower"].id

    assert other.get(f"/people/{grower}").status_code == 404
    assert post(other, f"/people/{grower}/role", role="out").status_code == 404
    assert roles(still)["Maren Holt"] == "grower"


def test_the_list_names_everybody_with_what_they_may_do(still):
    text = still.client(still.who["adviser"]).get("/people").text

    assert "Maren Holt" in text
    assert "maren@alder.example" in text
    assert "Ferris Quade" in text
    assert "Lukas Amsel" not in text


def test_an_invitation_goes_out_by_mail_without_its_proof_in_the_store(scene, adviser):
    answer = post(
        adviser, "/people/invite", name="Nell Orme", email="nell@b.example", role="grower"
    )
    (letter,) = [one for one in rows(scene, outbox) if one.dedupe_key.startswith("join-")]

    assert answer.status_code == 303
    assert letter.to_address == "nell@b.example"
    assert "Ines Varga invites you" in letter.text
    assert "https://links.invalid/join/1" in letter.text
    assert "Nell Orme" in adviser.get("/people").text


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"name": "", "email": "nell@b.example"}, "give a name"),
        ({"name": "Nell", "email": "nell@"}, "ann@example.org"),
        ({"name": "Nell <x>", "email": "nell@b.example"}, "without"),
        ({"name": "Maren", "email": "MAREN@alder.example"}, "in the account already"),
        ({"name": "Nell", "email": "nell@b.example", "role": "owner"}, "choose what they may do"),
    ],
)
def test_a_wrong_invitation_comes_back_with_the_reason_beside_what_was_typed(still, values, told):
    answer = post(
        still.client(still.who["adviser"]), "/people/invite", **({"role": "grower"} | values)
    )

    assert answer.status_code == 422
    assert told in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert f'value="{values["email"]}"' in answer.text
    assert rows(still, invitation) == []


def test_an_invitation_that_is_taken_back_no_longer_holds(scene, adviser):
    post(adviser, "/people/invite", **NELL)
    path = f"/join/{scene.app.state.desk.links.token('join', 1)}"
    assert scene.client().get(path).status_code == 200

    assert post(adviser, "/people/invitations/1/withdraw").status_code == 303
    assert scene.client().get(path).status_code == 410
    assert scene.client().post(path).status_code == 410


def test_the_invitation_of_another_account_cannot_be_taken_back(scene, adviser):
    post(adviser, "/people/invite", **NELL)
    other = scene.client(scene.who["other adviser"])

    assert post(other, "/people/invitations/1/withdraw").status_code == 404
    assert rows(scene, invitation)[0].withdrawn_at is None


def test_the_last_adviser_stays_one(scene, adviser):
    own = scene.people["adviser"].id
    for role in ("grower", "viewer", "out"):
        answer = post(adviser, f"/people/{own}/role", role=role)
        assert answer.status_code == 422
        assert "make somebody else an adviser first" in answer.text

    assert roles(scene)["Ines Varga"] == "adviser"


def test_an_adviser_beside_another_may_go(scene, adviser):
    with scene.service.engine.begin() as conn:
        put_member(conn, scene.account, scene.people["viewer"].id, "adviser")

    assert (
        post(adviser, f"/people/{scene.people['adviser'].id}/role", role="out").status_code == 303
    )
    assert "Ines Varga" not in roles(scene)
    assert adviser.get("/people").status_code == 303


def test_whoever_is_taken_out_sees_nothing_more_wherever_they_are_signed_in(scene, adviser):
    first, second = (scene.client(scene.sign_in("viewer")) for _ in range(2))
    assert first.get("/today").status_code == 200

    post(adviser, f"/people/{scene.people['viewer'].id}/role", role="out")
    assert [one.get("/today").status_code for one in (first, second)] == [303, 303]


def test_whoever_is_in_two_accounts_keeps_the_other(scene, adviser):
    viewer = scene.people["viewer"].id
    with scene.service.engine.begin() as conn:
        put_member(conn, scene.other_account, viewer, "viewer")
    client = scene.client(scene.who["viewer"])
    post(adviser, f"/people/{viewer}/role", role="out")
    text = client.get("/today").text

    assert "Sable Corner" in text
    assert "Long Acre" not in text


def test_a_changed_role_counts_at_once_and_stands_in_the_log(scene, adviser):
    viewer = scene.client(scene.who["viewer"])
    assert viewer.get("/people").status_code == 403

    post(adviser, f"/people/{scene.people['viewer'].id}/role", role="adviser")
    assert viewer.get("/people").status_code == 200
    last = rows(scene, audit)[-1]
    assert (last.what, last.person_id) == ("member.role", scene.people["adviser"].id)
    assert "made Ferris Quade adviser" in adviser.get("/changes").text


def test_a_form_without_its_proof_changes_nothing(scene, adviser):
    path = f"/people/{scene.people['viewer'].id}/role"

    assert adviser.post(path, data={"role": "adviser"}).status_code == 403
    assert roles(scene)["Ferris Quade"] == "viewer"
