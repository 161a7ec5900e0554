"""A stored night computed again: what its card tells, kept beside the days of the season."""

from __future__ import annotations

import json
import zlib
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_service.nights.again import StoredNight, night_again
from rootbound_service.nights.pictures import card_of, unpacked_picture, with_card
from rootbound_service.nights.shown import AHEAD
from rootbound_service.store.fields import find_field
from rootbound_service.store.season_pictures import picture_of
from service.nights.rig import DRY, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 2)


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """One field with its night, run in the usual way."""
    with a_rig(tmp_path_factory.mktemp("again"), DRY) as made:
        made.enrol(a_field("Long Acre"))
        made.bring(NIGHT)
        made.night(NIGHT)
        yield made


@pytest.fixture(scope="module")
def stored(rig):
    with rig.service.engine.connect() as conn:
        field = find_field(conn, "Long Acre")
    return StoredNight(field, rig.row("Long Acre"), None, rig.clock.now())


def test_a_night_comes_out_as_it_was_stored(rig, stored):
    again = night_again(rig.service.parts, stored)
    with rig.service.engine.connect() as conn:
        _, usual = picture_of(conn, stored.row.season_id)

    assert again.kind == "same"
    assert card_of(again.packed, NIGHT, stored.moment) == stored.row.detail
    assert AHEAD in stored.row.detail
    mine, kept = unpacked_picture(again.packed), unpacked_picture(usual)
    assert np.array_equal(mine.series.held_mid_mm, kept.series.held_mid_mm)
    assert mine.stages == kept.stages


def test_a_card_is_of_one_run_of_one_night(stored):
    moment, later = stored.moment, stored.moment + timedelta(hours=1)
    with_one = with_card(_days(), NIGHT, moment, {"cause": "none"})

    assert card_of(with_one, NIGHT, moment) == {"cause": "none"}
    assert card_of(with_one, NIGHT, later) is None
    assert card_of(with_one, NIGHT + timedelta(days=1), moment) is None
    assert card_of(_days(), NIGHT, moment) is None


def _days():
    """A season without a day."""
    head = {"first": NIGHT.isoformat(), "past": 0, "ahead": 0, "stages": []}
    return zlib.compress(json.dumps(head).encode() + b"\n")


def test_another_rung_is_told_and_nothing_given(rig, stored):
    worse = replace(stored.row, rung=4)
    again = night_again(rig.service.parts, replace(stored, row=worse))
    assert (again.kind, again.packed) == ("other", None)


def test_other_figures_on_the_same_rung_are_told_and_given(rig, stored):
    wetter = replace(stored.row, water_in_reach_mm=stored.row.water_in_reach_mm + 1.0)
    again = night_again(rig.service.parts, replace(stored, row=wetter))
    assert again.kind == "moved"
    assert again.packed is not None


@pytest.mark.parametrize("lat", [44.1, 89.9])
def test_where_no_weather_is_stored_nothing_is_computed(rig, stored, lat):
    elsewhere = replace(stored, field=replace(stored.field, lat=lat))
    assert night_again(rig.service.parts, elsewhere).kind == "no_weather"
