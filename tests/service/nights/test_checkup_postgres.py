"""A PostgreSQL server: its version, its clock and its connections, each right and wrong."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rootbound_service.clock import SystemClock
from rootbound_service.nights.checkup_postgres import ServerFacts, check_postgres, look_at_postgres

NOON = datetime(2026, 7, 14, 12, 0, tzinfo=UTC)
WELL = ServerFacts(150004, NOON, 100, 3)


def bad(**changes):
    found = check_postgres(replace(WELL, **changes), NOON)
    assert len(found) == 3
    assert all(one.mend and one.why for one in found if not one.well)
    return [one for one in found if not one.well]


def test_a_server_as_debian_sets_it_up_is_well():
    assert bad() == []


@pytest.mark.parametrize(("version", "well"), [(130000, True), (120019, False), (90624, False)])
def test_the_server_must_be_one_that_is_still_mended(version, well):
    assert (bad(version=version) == []) is well


def test_the_version_is_told_as_people_say_it():
    assert bad(version=120019)[0].said.startswith("12.19 is too old")


@pytest.mark.parametrize("off", [timedelta(minutes=3), timedelta(minutes=-3), timedelta(days=1)])
def test_a_clock_that_differs_is_bad(off):
    (found,) = bad(at=NOON + off)

    assert "min" in found.said
    assert "set-ntp" in found.run


def test_another_time_zone_of_the_server_is_no_other_time():
    there = NOON.astimezone(tz=datetime.strptime("-0500", "%z").tzinfo)

    assert bad(at=there) == []


@pytest.mark.parametrize(("most", "well"), [(33, True), (32, False), (20, False)])
def test_a_worker_and_its_web_must_both_be_let_in(most, well):
    found = bad(most=most)

    assert (found == []) is well
    assert all("max_connections = 33" in one.run for one in found)


def test_a_real_server_is_well_and_an_sqlite_file_is_none(store):
    found = look_at_postgres(store, SystemClock().now)

    assert all(one.well for one in found)
    assert len(found) == (3 if store.dialect.name == "postgresql" else 0)
