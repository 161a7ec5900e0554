"""What a row keeps for a field's card: the same facts as the letters of that night, read back."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta

import pytest

from rootbound_service.nightly import decide_all
from rootbound_service.nights.facts_of import facts_of
from rootbound_service.nights.gather import gather
from rootbound_service.nights.row_facts import card_facts, members_of
from rootbound_service.nights.shown import undressed, with_shown
from rootbound_service.records import DigRecord
from service.nights.public_rig import a_public_rig
from service.nights.rig import DRY, YEAR, a_field, a_rig

SHORT = date(YEAR, 7, 12)
"""A night of DRY on which roots have run short."""
LETTERS_ONLY = {"rain_to_hold", "water_to_hold", "series", "previous_rung", "belief", "heat_normal"}
"""What takes a search, a picture, past years or an earlier letter; belief has a test of its own."""
ROUNDED = {"chance_short", "rung_chances", "reach_later", "exposure"}


def decided_on(rig, night, *listed):
    """The night decided over what is stored, nothing asked for; by field."""
    rig.enrol(*listed)
    rig.night(night)
    gathered = gather(rig.service.parts, night, pull=False)
    return {one.computed.field.name: one for one in decide_all(gathered, 10)}


def stored(one):
    """A row as it comes back from the store: its detail has been JSON."""
    return replace(one.risk, detail=json.loads(json.dumps(one.risk.detail)))


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("shown"), DRY) as rig:
        rig.bring(SHORT)
        yield decided_on(rig, SHORT, a_field("Long Acre"), a_field("Undug", digs=()))


@pytest.mark.parametrize("name", ["Long Acre", "Undug"])
def test_a_card_has_the_facts_of_that_nights_letter(night, name):
    one = night[name]
    letter, card = facts_of(one, None), card_facts(one.computed.field, stored(one))

    names = {one.name for one in fields(letter)} - LETTERS_ONLY - ROUNDED
    assert {n: getattr(card, n) for n in names} == {n: getattr(letter, n) for n in names}
    assert card.chance_short == pytest.approx(letter.chance_short, abs=1e-4)
    assert card.rung_chances == pytest.approx(letter.rung_chances, abs=1e-4)


def test_reach_and_exposure_are_those_of_the_letter_but_for_rounding(night):
    one = night["Long Acre"]
    letter, card = facts_of(one, None), card_facts(one.computed.field, stored(one))

    assert (card.reach_later.day, card.reach_later.middle) == (
        letter.reach_later.day,
        pytest.approx(letter.reach_later.middle, abs=1e-4),
    )
    assert card.exposure.high == pytest.approx(letter.exposure.high, abs=0.01)
    assert letter.exposure.high > 0.0
    assert card.exposure.caveat == letter.exposure.caveat


def test_a_row_says_of_how_many_past_summers_it_is(night):
    assert members_of(stored(night["Long Acre"])) == night["Long Acre"].computed.assessment.members
    assert members_of(replace(night["Long Acre"].risk, detail={})) == 0


def test_a_notes_evidence_does_not_hold_what_is_only_shown(night):
    one = night["Long Acre"]
    note = one.note
    assert note is not None
    assert "ahead" not in note.evidence["row"]["detail"]
    told = with_shown(one)
    assert undressed(told.risk).detail == undressed(one.risk).detail
    assert "ahead" not in undressed(told.risk).detail
    assert undressed(None) is None


def test_a_row_of_an_earlier_version_has_a_card_without_the_days_to_come(night):
    one = night["Long Acre"]
    card = card_facts(one.computed.field, replace(one.risk, detail={}))

    assert (card.rung, card.water_in_reach_mm) == (one.risk.rung, one.risk.water_in_reach_mm)
    assert (card.held_short, card.rung_chances, card.exposure) == (None, (), None)


def test_whose_forecast_it_begins_with_is_kept(tmp_path):
    with a_public_rig(tmp_path, date(2026, 7, 4)) as rig:
        rig.enrol(a_field("Long Acre"))
        for day in (4, 5):  # of its own day an issue has no low: that of the day before counts
            rig.night(date(2026, 7, day))
        one = decided_on(rig, date(2026, 7, 6))["Long Acre"]
    letter, card = facts_of(one, None), card_facts(one.computed.field, stored(one))

    assert card.forecast == letter.forecast
    assert card.forecast is not None
    assert "Weather Service" in card.forecast.title


def test_what_more_plants_would_do_is_told_until_somebody_digs_again(night):
    one = night["Long Acre"]
    then = stored(one)
    more = facts_of(one, None).more_plants
    later = replace(then, night=SHORT + timedelta(days=2))
    later = replace(
        later, detail=then.detail | {"ahead": then.detail["ahead"] | {"more_plants": None}}
    )
    field = one.computed.field
    again = DigRecord(
        date(YEAR, 6, 30), 1, plants=5, recorded_at=datetime(YEAR, 7, 13, 12, tzinfo=UTC)
    )
    dug = replace(field, digs=(*field.digs, again))

    assert more is not None
    assert card_facts(field, later, [then]).more_plants == more
    assert card_facts(dug, later, [then]).more_plants is None
