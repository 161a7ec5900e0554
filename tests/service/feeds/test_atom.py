"""Atom, read by a parser that is not ours."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import feedparser
from lxml import etree

from rootbound_service.feeds.atom import atom_of, entries_of
from service.feeds.scene import FIRST, ISSUER, a_stand

ADDRESS = "https://rootbound.example/f/KEY"
TOLD = datetime(2026, 7, 11, 9, 31, 5, tzinfo=UTC)


def read(*stands, first=FIRST, issuer=ISSUER):
    raw = atom_of(entries_of(stands, first), issuer, ADDRESS, TOLD)
    found = feedparser.parse(raw)
    assert not found.bozo
    return found


def titles(found):
    return [one.title for one in found.entries]


def test_atom_has_an_entry_a_message_with_its_cap_beside_it():
    """RFC 4287 4.1.1 and 4.1.2, by feedparser."""
    found = read(a_stand(2, 3))

    assert found.version == "atom10"
    assert found.feed.id.startswith("urn:uuid:")
    assert found.feed.author == "Rootbound"
    assert titles(found) == ["Long Acre: 3 short", "Long Acre: 2 tight"]
    assert len({one.id for one in found.entries}) == 2
    link = found.entries[0].links[0]
    assert link.href.startswith(f"{ADDRESS}/cap/rootbound-107-20260711T093105-")
    assert (link.rel, link.type) == ("alternate", "application/cap+xml")
    assert found.entries[0].updated_parsed[:6] == (2026, 7, 11, 9, 31, 5)
    assert "Maren" not in str(found)


def test_every_element_that_the_standard_asks_for_is_there_once():
    """RFC 4287 4.1.1 and 4.1.2: id, title and updated, exactly one of each."""
    raw = atom_of(entries_of([a_stand(2, 3, 1)], FIRST), ISSUER, ADDRESS, TOLD)
    feed = etree.fromstring(raw)
    name = "{http://www.w3.org/2005/Atom}"

    for element in (feed, *feed.findall(f"{name}entry")):
        assert [len(element.findall(name + one)) for one in ("id", "title", "updated")] == [1] * 3
    assert len(feed.findall(f"{name}author")) == 1


def test_an_empty_feed_is_a_feed():
    assert read().entries == []


def test_thirty_nights_at_one_rung_are_its_alert_and_what_stands_now():
    found = read(a_stand(*[2] * 30))

    assert titles(found) == ["Long Acre: 2 tight"] * 2
    assert [one.summary.split()[0] for one in found.entries] == ["Update", "Alert"]


def test_an_ended_warning_is_told_to_its_end():
    found = read(a_stand(2, 2, 2, 1, 0, 0))

    assert titles(found) == ["Long Acre: eased to 1 drawing down", "Long Acre: 2 tight"]


def test_the_latest_comes_first_over_all_fields_and_old_nights_are_left_out():
    east, west = a_stand(0, 0, 3), a_stand(2, 2, 2, name="West Ridge", number=8)

    assert titles(read(east, west)) == [
        "West Ridge: 2 tight", "Long Acre: 3 short", "West Ridge: 2 tight",
    ]  # fmt: skip
    assert len(read(east, west, first=FIRST + timedelta(days=1)).entries) == 2


def test_one_fields_odd_name_does_not_spoil_the_feed_of_all():
    """XML 1.0 has no way to write a control character."""
    found = read(a_stand(3, name="Long\x0b\x00 Acre \ufffe<&>"), a_stand(2, name="Mill", number=8))

    assert titles(found) == ["Mill: 2 tight", "Long Acre <&>: 3 short"]


def test_days_are_written_as_the_reader_writes_them():
    from dataclasses import replace

    summary = read(a_stand(3), issuer=replace(ISSUER, units="metric")).entries[0].summary

    assert summary == "Alert of the night of 10 July. Stage V12."
