"""Atom, iCalendar, GeoJSON and CSV, read by parsers that are not ours."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import feedparser
import geojson
import pytest
import vobject

from rootbound_service.feeds.atom import atom_of
from rootbound_service.feeds.calendar import calendar_of
from rootbound_service.feeds.geojson import geojson_of
from rootbound_service.feeds.stand import Stand
from rootbound_service.feeds.table import COLUMNS, FORMULA, table_of
from service.feeds.scene import FIRST, ISSUER, a_field, a_row, a_stand, chain, nights

ADDRESS = "https://rootbound.example/f/KEY"


def test_atom_has_an_entry_a_message_with_its_cap_beside_it():
    """RFC 4287 4.1.1 and 4.1.2, by feedparser."""
    entries = [(link, a_field()) for link in reversed(chain(2, 3))]
    told = datetime(2026, 7, 11, 9, 31, 5, tzinfo=UTC)
    read = feedparser.parse(atom_of(entries, ISSUER, ADDRESS, told))

    assert not read.bozo
    assert read.version == "atom10"
    assert read.feed.id.startswith("urn:uuid:")
    assert [one.title for one in read.entries] == ["Long Acre: 3 short", "Long Acre: 2 tight"]
    assert len({one.id for one in read.entries}) == 2
    assert read.entries[0].links[0].href == f"{ADDRESS}/cap/rootbound-107-20260711.xml"
    assert read.entries[0].links[0].type == "application/cap+xml"
    assert "Maren" not in str(read)


def test_an_empty_feed_is_a_feed():
    read = feedparser.parse(atom_of([], ISSUER, ADDRESS, None))

    assert not read.bozo
    assert read.entries == []


def events(*stands):
    raw = calendar_of(stands, "rootbound.example").decode()
    calendar = vobject.readOne(raw)
    return raw, {one.summary.value: one for one in calendar.contents.get("vevent", [])}


def test_dates_are_whole_days_whose_end_is_not_included():
    """RFC 5545 3.6.1 and 3.8.2.7, by vobject."""
    _, found = events(a_stand(2))
    silk = found["Silking, walk it at sunrise: Long Acre"]

    assert silk.dtstart.value == date(2026, 7, 17)
    assert silk.dtend.value == date(2026, 7, 24)
    assert silk.transp.value == "TRANSPARENT"
    assert silk.uid.value == "silk-107@rootbound.example"


def test_lines_are_folded_at_75_octets_and_end_with_crlf():
    """RFC 5545 3.1."""
    raw, _ = events(
        a_stand(2, name="Åse's very long acre beyond the mill, the church; and the creek")
    )

    assert max(len(line.encode()) for line in raw.split("\r\n")) <= 75
    assert "\n" not in raw.replace("\r\n", "")


def test_a_later_night_has_a_greater_number_so_that_programs_take_it():
    (_, early), (_, late) = events(a_stand(2)), events(a_stand(2, 2))
    name = "Silking, walk it at sunrise: Long Acre"

    assert int(late[name].sequence.value) > int(early[name].sequence.value)
    assert late[name].uid.value == early[name].uid.value


def test_a_field_that_nobody_dug_has_its_dig_window_and_a_finished_one_nothing():
    days = {"V2": "2026-07-08", "V5": "2026-07-20"}
    row = a_row(FIRST, 0, "unrated", detail={"ahead": {"days": days}})
    undug = Stand(a_field(digs=()), (replace(nights([0])[0], row=row),))

    assert "Dig young roots: Long Acre" in events(undug)[1]
    assert events(a_stand("finished"))[1] == {}


def test_geojson_is_valid_and_longitude_comes_first():
    """RFC 7946 3.1.1 and 4, by the package geojson."""
    read = geojson.loads(geojson_of([a_stand(3), a_stand(name="West Ridge", number=8)]))

    assert read.is_valid
    first, second = read["features"]
    assert first["geometry"]["coordinates"] == [-94.92, 41.62]
    assert (first["properties"]["rung"], first["properties"]["rung_name"]) == (3, "short")
    assert second["properties"]["rung"] is None
    assert -180 <= first["geometry"]["coordinates"][0] <= 180


@pytest.mark.parametrize("begin", FORMULA)
def test_no_cell_of_the_table_is_a_formula(begin):
    name = f"{begin}HYPERLINK(1)"
    (row,) = csv.DictReader(io.StringIO(table_of([a_stand(2, name=name)])))

    assert row["field"] == f"'{name}"


def test_the_table_has_every_figure_and_numbers_stay_numbers():
    (row,) = csv.DictReader(io.StringIO(table_of([a_stand(2)])))

    assert tuple(row) == COLUMNS
    assert float(row["lon"]) == -94.92
    assert float(row["water_in_reach_mm"]) == 9.7
    assert row["night"] == FIRST.isoformat()


def test_a_night_without_a_row_is_like_the_one_before_it(tmp_path):
    from rootbound_service.feeds.stand import _nights

    rows = [a_row(FIRST, 2), a_row(FIRST + timedelta(days=2), 3)]
    at = datetime(2026, 7, 10, 9, tzinfo=UTC)
    runs = [(FIRST + timedelta(days=n), at + timedelta(days=n)) for n in range(-1, 4)]

    assert [(one.night.day, one.row.rung) for one in _nights(rows, runs)] == [
        (10, 2), (11, 2), (12, 3), (13, 3),
    ]  # fmt: skip
