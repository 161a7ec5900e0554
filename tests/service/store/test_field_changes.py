"""Corrections of a field: only what differs is written, and what cannot be is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from rootbound_service.errors import RefusedInput
from rootbound_service.records import DigRecord, SoilRecord
from rootbound_service.store.field_changes import change_field
from rootbound_service.store.field_rows import load_fields
from rootbound_service.store.fields import add_dig, add_field, set_elevation
from rootbound_service.store.schema import field
from rootbound_service.store.soil import put_source
from rootbound_service.store.soil_answers import SoilAnswer, keep_answer, place_key
from rootbound_service.store.soil_record import SoilValue

NOW = datetime(2026, 7, 14, 15, 0, tzinfo=UTC)


def again(conn, one):
    return load_fields(conn, field.c.id == one.id)[0]


def test_what_differs_is_changed_and_named(store, a_field):
    with store.begin() as conn:
        one = add_field(conn, a_field())
        wanted = replace(one, irrigated=not one.irrigated, seed_depth_cm=one.seed_depth_cm + 1)

        assert change_field(conn, one, wanted, NOW) == ("irrigated", "seed_depth_cm")
        assert again(conn, one) == wanted


def test_a_difference_by_rounding_is_none(store, a_field):
    with store.begin() as conn:
        one = add_field(conn, a_field())

        assert (
            change_field(conn, one, replace(one, seed_depth_cm=one.seed_depth_cm + 1e-3), NOW) == ()
        )
        assert again(conn, one) == one


def test_what_a_service_said_of_another_place_counts_no_more(store, a_field):
    with store.begin() as conn:
        one = add_field(conn, a_field(soil=SoilRecord()))
        set_elevation(conn, one.id, 310.0)
        key = place_key(one.lat, one.lon)
        keep_answer(conn, SoilAnswer(one.id, NOW, key, "survey", {}, (), False, b""))
        put_source(conn, one.id, "survey", (SoilValue("texture", "loam", "survey", "a map"),), NOW)
        change_field(conn, again(conn, one), replace(one, lat=one.lat + 0.1), NOW)
        after = again(conn, one)

    assert after.soil.texture is None
    assert after.elevation_m is None


@pytest.mark.parametrize("days", [1, 400])
def test_a_planting_date_that_cannot_be_is_refused(store, a_field, days):
    with store.begin() as conn:
        one = add_field(conn, a_field())
        add_dig(conn, one.season_id, DigRecord(one.planted, 1))
        one = again(conn, one)
        with pytest.raises(RefusedInput, match="planted"):
            change_field(conn, one, replace(one, planted=one.planted + timedelta(days)), NOW)


def test_the_year_of_another_season_is_refused(store, a_field):
    with store.begin() as conn:
        add_field(conn, a_field(planted=date(2025, 5, 1)))
        one = add_field(conn, a_field(planted=date(2026, 5, 1)))
        with pytest.raises(RefusedInput, match="another season"):
            change_field(conn, one, replace(one, planted=date(2025, 5, 2)), NOW)


def test_the_name_of_another_field_of_the_grower_is_refused(store, a_field):
    with store.begin() as conn:
        add_field(conn, a_field(name="Mill Strip"))
        one = add_field(conn, a_field())
        with pytest.raises(RefusedInput, match="another field of this name"):
            change_field(conn, one, replace(one, name="MILL  strip"), NOW)
