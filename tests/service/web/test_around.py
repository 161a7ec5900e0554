"""Headers, health, metrics, feeds and the pace of callers."""

from __future__ import annotations

from datetime import timedelta

import feedparser
import pytest
from prometheus_client.parser import text_string_to_metric_families

from rootbound_service.store.channel_state import ChannelState, put_channel_state
from rootbound_service.store.feed_keys import end_feed_keys, make_feed_key
from rootbound_service.store.risk import save_risk
from rootbound_service.store.runs import finish_run, start_run
from rootbound_service.web.pace import USUAL
from service.feeds.scene import a_row
from service.web.conftest import NOW

NAMES = ("alerts.atom", "visits.ics", "fields.geojson", "fields.csv")


def ran(scene, ago=timedelta(hours=5), rung=3):
    night = (NOW - ago).date()
    with scene.service.engine.begin() as conn:
        start_run(conn, night, NOW - ago)
        save_risk(conn, [a_row(night, rung, season_id=scene.field.season_id)])
        finish_run(conn, night, NOW - ago, 1, 0, "")


def key_of(scene):
    with scene.service.engine.begin() as conn:
        return make_feed_key(conn, scene.person.id, NOW)


def test_no_page_runs_a_strange_script_or_is_framed_or_kept(scene):
    headers = scene.web.get(scene.path("u", "stop", scene.mail.id, 1)).headers

    policy = dict(one.split(" ", 1) for one in headers["content-security-policy"].split("; "))
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert "no-store" in headers["cache-control"]


def test_health_is_good_after_a_night_and_bad_without_one(scene):
    assert scene.web.get("/healthz").status_code == 503
    ran(scene)
    assert scene.web.get("/healthz").json()["ok"] is True
    scene.clock.set(NOW + timedelta(hours=26))
    assert scene.web.get("/healthz").json()["night_is_late"] is True


def test_health_is_bad_while_a_channel_is_left_alone(scene):
    ran(scene)
    with scene.service.engine.begin() as conn:
        left = ChannelState(1, NOW + timedelta(minutes=10), "5.7.1 denied", NOW)
        put_channel_state(conn, "email", left)
    answer = scene.web.get("/healthz")

    assert answer.status_code == 503
    assert answer.json()["channels_left_alone"] == ["email"]


def test_metrics_are_read_by_prometheus_and_name_nobody(scene):
    ran(scene)
    text = scene.web.get("/metrics").text
    found = {
        (sample.name, *sorted(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }

    assert found["rootbound_night_seconds_ago",] == 5 * 3600
    assert found["rootbound_outbox_messages", "sent"] == 1
    assert found["rootbound_fields", "3", "watched"] == 1
    assert "Long Acre" not in text
    assert "@" not in text


@pytest.mark.parametrize("name", NAMES)
def test_a_feed_is_had_by_its_secret_address_until_that_is_ended(scene, name):
    ran(scene)
    path = f"/f/{key_of(scene)}/{name}"

    assert scene.web.get(path).status_code == 200
    assert scene.web.get(f"/f/another/{name}").status_code == 404
    with scene.service.engine.begin() as conn:
        assert end_feed_keys(conn, scene.person.id, NOW) == 1
    assert scene.web.get(path).status_code == 404


@pytest.mark.parametrize("name", NAMES)
def test_whoever_has_a_feed_already_is_told_so(scene, name):
    """RFC 9110 13.1.2 and 15.4.5."""
    ran(scene)
    path = f"/f/{key_of(scene)}/{name}"
    first = scene.web.get(path)
    again = scene.web.get(path, headers={"If-None-Match": first.headers["etag"]})
    dated = scene.web.get(path, headers={"If-Modified-Since": first.headers["last-modified"]})

    assert (again.status_code, again.content) == (304, b"")
    assert dated.status_code == 304
    assert again.headers["etag"] == first.headers["etag"]
    assert first.headers["cache-control"].startswith("private")


def test_an_entry_of_the_feed_leads_to_its_cap_message(scene):
    ran(scene)
    read = feedparser.parse(scene.web.get(f"/f/{key_of(scene)}/alerts.atom").text)
    address = read.entries[0].links[0].href

    answer = scene.web.get(address)
    assert answer.headers["content-type"] == "application/cap+xml"
    assert b"Long Acre: 3 short" in answer.content


def test_nobody_reads_the_feed_of_another(scene):
    from rootbound_service.records import Person
    from rootbound_service.store.people import add_person

    ran(scene)
    with scene.service.engine.begin() as conn:
        other = add_person(conn, Person("Tobias Reyl", "tobias@alder.example", "grower"), NOW)
        key = make_feed_key(conn, other.id, NOW)

    assert "Long Acre" not in scene.web.get(f"/f/{key}/fields.csv").text


def test_who_asks_too_often_waits_a_minute(scene):
    answers = [scene.web.get("/u/x").status_code for _ in range(USUAL + 1)]

    assert answers[-1] == 429
    assert set(answers[:-1]) == {404}
    scene.clock.set(NOW + timedelta(minutes=1))
    assert scene.web.get("/u/x").status_code == 404
