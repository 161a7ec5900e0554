"""The time zones of fields and people, held against those the machine knows."""

from __future__ import annotations

from zoneinfo import available_timezones

from rootbound_service.nights.checkup_zones import check_zones, zones_used
from rootbound_service.store.fields import add_field
from service.nights.rig import a_field


def test_zones_that_are_known_are_well():
    assert check_zones({"America/Chicago"}, {"America/Chicago", "UTC"}).well
    assert check_zones([], []).well


def test_zones_that_are_not_known_are_named_but_not_all_of_many():
    found = check_zones(["E", "D", "C", "B", "A", "UTC"], {"UTC"})

    assert not found.well
    assert found.said == "not known here: A, B, C and 2 more"
    assert "tzdata" in found.run


def test_zones_of_fields_and_people_are_read_and_this_machine_knows_them(store):
    with store.begin() as conn:
        add_field(conn, a_field("Long Acre", time_zone="America/Denver"))
    with store.connect() as conn:
        used = zones_used(conn)

    assert used == {"America/Denver", "America/Chicago"}
    assert check_zones(used, available_timezones()).well
