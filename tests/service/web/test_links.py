"""Links of letters: a scanner that fetches them changes nothing, one press does."""

from __future__ import annotations

from datetime import date
from email import message_from_bytes, policy

import pytest
from sqlalchemy import select

from rootbound_service.channels.email import Letterhead, to_email
from rootbound_service.records import NoteRecord
from rootbound_service.store.acknowledgements import acknowledged_since
from rootbound_service.store.contacts import consents
from rootbound_service.store.observations import every_observation
from rootbound_service.store.outbox import load_messages
from rootbound_service.store.risk import save_notes
from rootbound_service.store.schema import outbox
from rootbound_service.store.silences import silenced_fields
from rootbound_service.store.suppressions import suppressed
from service.web.conftest import NOW


def stopped(scene):
    with scene.service.engine.connect() as conn:
        return suppressed(conn, "email", scene.mail.address)


def test_looking_at_the_stop_page_stops_nothing(scene):
    """RFC 8058 section 1: scanners fetch links; only POST acts."""
    answer = scene.web.get(scene.path("u", "stop", scene.mail.id, 1))

    assert answer.status_code == 200
    assert "Nothing has changed yet" in answer.text
    assert stopped(scene) == frozenset()


def test_rain_and_leaves_are_recorded_from_the_note_by_pressing_so(scene):
    path = scene.path("n", "note", 1)
    form = {"field_id": scene.field.id, "rain": "0.8", "rolled": "no", "day": "2026-07-13"}

    looked = scene.web.get(f"{path}/observe")
    answer = scene.web.post(f"{path}/observe", data=form)
    scene.web.post(f"{path}/observe", data=form)

    with scene.service.engine.connect() as conn:
        seen = every_observation(conn, scene.field.season_id)
    assert looked.status_code == 405
    assert "counts from tonight" in answer.text
    assert [(one.kind, one.day, one.by) for one in seen] == [
        ("rain", date(2026, 7, 13), scene.person.name),
        ("rolled", date(2026, 7, 13), scene.person.name),
    ]
    assert seen[0].value == pytest.approx(20.32)  # 0.8 in, 25.4 mm each


@pytest.mark.parametrize(
    ("change", "status"),
    [
        ({"rain": "a lot"}, 422),
        ({"rain": ""}, 422),
        ({"day": "2026-07-20", "rain": "1"}, 422),
        ({"field_id": 99, "rain": "1"}, 404),
        ({"field_id": "x", "rain": "1"}, 422),
    ],
)
def test_what_cannot_be_recorded_from_a_note_is_said_and_not_stored(scene, change, status):
    form = {"field_id": scene.field.id, "day": "2026-07-13", **change}

    answer = scene.web.post(f"{scene.path('n', 'note', 1)}/observe", data=form)

    with scene.service.engine.connect() as conn:
        assert every_observation(conn, scene.field.season_id) == ()
    assert answer.status_code == status


@pytest.mark.parametrize("how", ["multipart", "form"])
def test_one_click_from_the_raw_letter_stops_at_once(scene, how):
    """RFC 8058 section 3.2: the address of the header, this body, no cookie, no redirect."""
    with scene.service.engine.connect() as conn:
        (letter,) = load_messages(conn, conn.scalars(select(outbox.c.id)))
    raw = to_email(letter, Letterhead("watch@rootbound.example"), None, scene.links).as_bytes()
    mail = message_from_bytes(raw, policy=policy.default)
    address = mail["List-Unsubscribe"].split(">")[0].strip(" <")
    name, value = mail["List-Unsubscribe-Post"].split("=")
    body = {"files": {name: (None, value)}} if how == "multipart" else {"data": {name: value}}

    answer = scene.web.post(address, **body)

    assert answer.status_code == 200
    assert not answer.history
    assert "set-cookie" not in answer.headers
    assert stopped(scene) == {"note"}
    with scene.service.engine.connect() as conn:
        event = consents(conn, [scene.mail.id])[scene.mail.id]
    assert (event.kind, event.how) == ("withdrawn", "one-click")


def test_pressing_twice_is_one_wish_and_it_can_be_taken_back(scene):
    path = scene.path("u", "stop", scene.mail.id, 1)
    for _ in range(2):
        assert scene.web.post(path).status_code == 200
    scene.web.post(f"{path}/again")

    assert stopped(scene) == frozenset()


@pytest.mark.parametrize(
    "path",
    ["/u/9-1.abc", "/u/x", "/n/5.abc", "/n/5.abc/letter", "/d/5.abc", "/d/5.abc.pdf"],
)
def test_a_link_that_is_not_ours_says_so_and_does_nothing(scene, path):
    assert scene.web.get(path).status_code == 404
    assert stopped(scene) == frozenset()


def test_a_token_for_one_thing_is_worth_nothing_for_another(scene):
    token = scene.links.token("note", 1)

    assert scene.web.get(f"/n/{token}").status_code == 200
    assert scene.web.get(f"/d/{token}").status_code == 404
    assert scene.web.post(f"/u/{token}").status_code == 404


def test_a_note_is_read_again_without_being_counted_as_seen(scene):
    path = scene.path("n", "note", 1)
    assert f'href="{path}/letter"' in scene.web.get(path).text
    letter = scene.web.get(f"{path}/letter")

    assert "Long Acre is tight." in letter.text
    assert "default-src 'none'" in letter.headers["content-security-policy"]
    with scene.service.engine.connect() as conn:
        assert not acknowledged_since(conn, scene.field.season_id, NOW)


def test_a_note_is_seen_by_pressing_so(scene):
    scene.web.post(scene.path("n", "note", 1) + "/seen")

    with scene.service.engine.connect() as conn:
        assert acknowledged_since(conn, scene.field.season_id, NOW)


def test_an_old_letter_does_not_answer_for_a_newer_note(scene):
    newer = NoteRecord(scene.field.season_id, date(2026, 7, 16), 3, 4, "ample", {}, "note-b")
    with scene.service.engine.begin() as conn:
        save_notes(conn, [newer])
    said = scene.web.post(scene.path("n", "note", 1) + "/seen").text

    with scene.service.engine.connect() as conn:
        assert not acknowledged_since(conn, scene.field.season_id, NOW)
    assert "Noted" not in said


def test_a_field_is_silenced_from_its_note_and_heard_again(scene):
    path = scene.path("n", "note", 1) + "/silence"
    said = scene.web.post(path, data={"field_id": scene.field.id, "days": 7}).text

    assert "No notes on Long Acre until July 20." in said
    with scene.service.engine.connect() as conn:
        assert scene.field.id in silenced_fields(conn, scene.person.id, NOW.date())
    scene.web.post(path, data={"field_id": scene.field.id, "days": 0})
    with scene.service.engine.connect() as conn:
        assert silenced_fields(conn, scene.person.id, NOW.date()) == {}


@pytest.mark.parametrize("form", [{"field_id": 999, "days": 7}, {"field_id": 1, "days": 400}])
def test_no_other_field_and_no_longer_than_a_month(scene, form):
    answer = scene.web.post(scene.path("n", "note", 1) + "/silence", data=form)

    assert answer.status_code == 404
    with scene.service.engine.connect() as conn:
        assert silenced_fields(conn, scene.person.id, NOW.date()) == {}


def test_a_digest_is_a_page_and_a_pdf(scene):
    path = scene.path("d", "digest", scene.digest)

    assert "Week 29" in scene.web.get(path).text
    pdf = scene.web.get(f"{path}.pdf")
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content.startswith(b"%PDF-")
