"""A field opened in a service of very many shows what it shows in a small one, to the digit."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date, timedelta

import numpy as np
import pytest

from rootbound_service.nights.pictures import unpacked_picture
from rootbound_service.nights.remembered import MEMORY
from rootbound_service.nights.row_facts import card_facts, members_of
from rootbound_service.nights.shown import AHEAD
from rootbound_service.web.dressing.look import look
from service.nights.many.weeks import FIELDS, MANY
from service.nights.rig import YEAR
from service.web.dressing.scene import opened

FIRST, LAST, STEP = date(YEAR, 6, 27), date(YEAR, 8, 8), 3
NAMES = tuple(one.name for one in FIELDS)
SPELLS = ((FIRST, FIRST + timedelta(days=9)), (date(YEAR, 7, 9), date(YEAR, 7, 24)), (LAST, LAST))
"""Looked at after each: before the drought tells, in the midst of it, and after it."""
READ = ("cause", "belief", "news", AHEAD)
"""What the facts of a card are made of beside the columns, which differ in the seventh digit."""


@pytest.fixture(scope="module")
def looks(tmp_path_factory):
    """Every field at the end of each spell: in the small service, in the big one."""
    found = []
    with opened(tmp_path_factory.mktemp("one")) as one, \
         opened(tmp_path_factory.mktemp("many"), **MANY) as many:  # fmt: skip
        for each in (one, many):
            each.rig.bring(FIRST)
        for first, last in SPELLS:
            for each in (one, many):
                each.live(first, last, STEP)
            stored = {name: many.rig.row(name) for name in NAMES}
            pair = [
                {name: look(each.desk, each.fields[name]) for name in NAMES} for each in (one, many)
            ]
            pages = [{name: each.page(name) for name in NAMES} for each in (one, many)]
            calls = [
                {
                    name: [
                        program.get(f"/fields/{each.fields[name].id}{path}").json()
                        for path in ("", "/season")
                    ]
                    for name in NAMES
                }
                for each in (one, many)
                for program in (each.program(),)
            ]
            found.append((stored, pair, pages, calls))
        assert not one.computed
        yield found, many.computed


def each(looks):
    found, _ = looks
    for stored, (small, big), _, _ in found:
        for name in NAMES:
            yield stored[name], small[name], big[name]


def test_what_the_card_tells_is_the_same_to_the_digit(looks):
    bare = 0
    for stored, small, big in each(looks):
        if not small.rows:
            continue
        usual, dressed = (json.loads(json.dumps(it.rows[-1].detail)) for it in (small, big))
        assert {key: dressed.get(key) for key in READ} == {key: usual.get(key) for key in READ}
        assert members_of(big.rows[-1]) == members_of(small.rows[-1])
        bare += AHEAD in usual and AHEAD not in stored.detail
        assert big.said == ""
    assert bare > 10


def test_the_facts_of_the_card_are_the_same(looks):
    for _, small, big in each(looks):
        if small.rows:
            row, dressed = small.rows[-1], big.rows[-1]
            mine = card_facts(FIELDS[0], replace(row, detail=dressed.detail), big.rows[:-1])
            usual = card_facts(FIELDS[0], row, small.rows[:-1])
            for one in fields(usual):
                assert getattr(mine, one.name) == getattr(usual, one.name), one.name


def test_the_season_is_drawn_from_the_same_figures(looks):
    drawn = 0
    for _, small, big in each(looks):
        assert (small.packed is None) == (big.packed is None)
        if small.packed is None:
            continue
        one, other = unpacked_picture(small.packed), unpacked_picture(big.packed)
        assert (one.stages, one.series.dates, one.series.ahead) == (
            other.stages, other.series.dates, other.series.ahead,
        )  # fmt: skip
        for name in ("held_stress", "free_stress"):
            assert np.array_equal(getattr(one, name), getattr(other, name))
        for name in ("rain_mm", "held_water_mm", "held_low_mm", "held_high_mm", "reach_ahead"):
            assert np.array_equal(getattr(one.series, name), getattr(other.series, name)), name
        drawn += 1
    assert drawn > 20


def test_the_page_is_the_same_page(looks):
    found, _ = looks
    for _, _, (small, big), _ in found:
        for name in NAMES:
            assert big[name] == small[name], name


def test_the_api_gives_the_same(looks):
    found, _ = looks
    for _, _, _, (small, big) in found:
        assert big == small


def test_nothing_the_next_night_follows_from_is_other_than_stored(looks):
    for stored, _, big in each(looks):
        if big.rows:
            assert big.rows[-1] == stored
            assert big.rows[-1].detail.get(MEMORY) == stored.detail.get(MEMORY) or (
                MEMORY not in stored.detail
            )


def test_each_is_computed_once_whoever_opens_it(looks):
    found, computed = looks
    assert len(computed) <= len(found) * len(NAMES)
    assert set(computed) >= {"Free", "Undug", "Held"}
