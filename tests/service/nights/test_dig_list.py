"""The dig list from a night: who is on it, in what order, and how the weekly letter tells it."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from rootbound_rules.risk.dig_again import AgainReason
from rootbound_service import weekly
from rootbound_service.nightly import decide_all
from rootbound_service.nights.dig_list import dig_list, to_compute
from rootbound_service.nights.gather import gather
from rootbound_service.records import DigRecord, ObservationRecord, SoilRecord
from rootbound_service.store.people import list_people
from service.nights.rig import DRY, INES, MAREN, NORTH, TOBIAS, YEAR, a_field, a_rig

V3, V8, GROWN = date(YEAR, 5, 24), date(YEAR, 6, 6), date(YEAR, 7, 4)
"""Of the fields planted about the first of May; on the last one Hollow Ground is at V7."""
DUG = DigRecord(date(YEAR, 5, 30), 3, plants=5, crossing=20, held=30)
HELD = DigRecord(date(YEAR, 6, 20), 3, plants=5, crossing=2, held=48)
"""At V4, before the last rain."""
NOON = datetime(YEAR, 5, 24, 12, tzinfo=UTC)
CLAY = SoilRecord(texture="clay loam")


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    """Fields of every kind; weather of them all is stored up to the middle of July."""
    with a_rig(tmp_path_factory.mktemp("digs"), DRY) as made:
        made.enrol(
            a_field("Long Acre", digs=(DUG,)),
            a_field("Hollow Ground", digs=(HELD,), planted=date(YEAR, 6, 1)),
            a_field("Mill Bottom", NORTH, digs=(), planted=date(YEAR, 5, 3)),
            a_field("Heron Flats", digs=(), planted=date(YEAR, 5, 2), grower=TOBIAS, soil=CLAY),
            a_field("Late Strip", digs=(), planted=date(YEAR, 5, 20)),
            a_field("Beans", digs=(), crop="soybean", black_layer_gdd_f=None),
        )
        for day in (V3, V8, GROWN):
            made.bring(day)
        yield made


def gathered(rig, day):
    rig.at(day)
    return gather(rig.service.parts, day, pull=False)


def listed(rig, day, change=lambda field: field):
    """The list of a day, and names by number."""
    found = gathered(rig, day)
    found = replace(found, fields=tuple(change(field) for field in found.fields))
    decided = decide_all(found, 5)
    return dig_list((one.computed for one in decided), day), {f.id: f.name for f in found.fields}


def names(entries, by_id):
    return [by_id[one.field_id] for one in entries]


def test_fields_without_a_dig_are_in_order_by_window_then_by_planting_and_soil(rig):
    digs, by_id = listed(rig, V3)
    states = {by_id[one.field_id]: one.window.state for one in digs.first}

    assert states == {
        "Long Acre": "open", "Heron Flats": "open", "Mill Bottom": "open", "Late Strip": "ahead",
        "Beans": "none",
    }  # fmt: skip
    assert names(digs.first, by_id)[-2:] == ["Late Strip", "Beans"]
    assert [one.place for one in digs.first] == [1, 2, 3, 4, 5]


def test_a_dig_takes_a_field_off_the_list_from_its_day_on(rig):
    assert "Long Acre" not in names(*first_of(rig, DUG.dug_on))
    assert "Long Acre" in names(*first_of(rig, date(YEAR, 5, 29)))


def first_of(rig, day):
    digs, by_id = listed(rig, day)
    return digs.first, by_id


def test_past_v10_a_field_is_still_listed_without_figures(rig):
    digs, by_id = listed(rig, GROWN)
    grown = next(one for one in digs.first if by_id[one.field_id] == "Mill Bottom")

    assert (grown.window.state, grown.spring, grown.reasons) == ("past", None, ())


def test_held_roots_are_dug_again_at_v7_after_rain(rig):
    digs, by_id = listed(rig, GROWN)

    assert names(digs.again, by_id) == ["Hollow Ground"]
    (again,) = digs.again
    assert again.dug_on == HELD.dug_on
    assert again.held_rung > again.free_rung
    assert AgainReason.LATE_CROSSING in again.reasons


def test_a_harvested_field_is_not_dug(rig):
    cut = ObservationRecord("harvest", date(YEAR, 5, 22), None, "Maren", NOON)

    def harvest(field):
        return replace(field, observations=(cut,)) if field.name == "Mill Bottom" else field

    digs, by_id = listed(rig, V3, harvest)
    assert "Mill Bottom" not in names(digs.first, by_id)


def test_a_gauge_on_the_field_tells_of_its_rain_instead_of_the_grid(rig):
    told = tuple(
        ObservationRecord("rain", date(YEAR, 5, day), 0.0, "Maren", NOON) for day in range(1, 24)
    )

    def dry(field):
        return replace(field, observations=told) if field.name == "Mill Bottom" else field

    springs = []
    for change in (lambda field: field, dry):
        digs, by_id = listed(rig, V3, change)
        springs += [one.spring for one in digs.first if by_id[one.field_id] == "Mill Bottom"]
    grid, gauge = springs
    assert (grid.longest_dry, gauge.longest_dry) == (3, 20)
    assert gauge.rain_before_mm + gauge.rain_planting_mm < grid.rain_before_mm + 24.1
    assert gauge.planted_share < grid.planted_share + 1e-9


def test_a_list_alone_computes_only_what_it_is_about(rig):
    asked, past = to_compute(gathered(rig, V8))
    assert {field.name for field in asked.fields} == {
        "Long Acre", "Heron Flats", "Mill Bottom", "Hollow Ground", "Late Strip", "Beans",
    }  # fmt: skip
    assert past == ()

    asked, past = to_compute(gathered(rig, GROWN))
    assert {field.name for field in asked.fields} == {"Hollow Ground", "Late Strip", "Beans"}
    assert {one.field.name for one in past} == {"Mill Bottom", "Heron Flats"}


def test_computing_less_gives_the_same_list(rig):
    for day in (V3, V8, GROWN):
        asked, past = to_compute(gathered(rig, day))
        few = dig_list((*(one.computed for one in decide_all(asked, 5)), *past), day)
        whole, by_id = listed(rig, day)
        assert names(few.first, by_id) == names(whole.first, by_id)
        assert few.again == whole.again


def test_a_field_without_weather_is_listed_as_not_known(tmp_path):
    with a_rig(tmp_path, DRY) as bare:
        bare.enrol(a_field("Long Acre", digs=()))
        digs, _ = listed(bare, V3)

    (only,) = digs.first
    assert (only.window.state, only.spring) == ("unknown", None)


@contextmanager
def letters(rig, day):
    """Write the weekly letters of a day and catch them before the outbox."""
    caught = {}

    def keep(conn, messages):
        caught.update({one.to_address: " ".join(one.text.split()) for one in messages})
        return len(messages)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(weekly, "enqueue", keep)
        rig.at(day)
        weekly.write_digests(rig.service.parts, day)
        yield caught


def test_the_weekly_letter_tells_both_lists_with_the_cautions_of_digging(rig):
    with letters(rig, GROWN) as told:
        text = told[INES.email]

    first = text[text.index("Dig these first") : text.index("Dig again")]
    again = text[text.index("Dig again") : text.index("Weather behind this")]
    assert "it is no rating" in first
    assert "Heron Flats (Tobias Reyl): The dig window (V2 to V5) is past" in first
    assert "Hollow Ground (Maren Holt): V7, dug June 20; 0.9 in of water" in again
    for caution in ("call 811", "re-entry intervals", "do not dig alone in heat", "trench"):
        assert caution in again
    # said once, where both lists are there
    assert text.count("call 811") == 1


def test_a_grower_reads_of_their_own_fields_only(rig):
    with letters(rig, date(YEAR, 6, 1)) as told:
        mine, other = told[MAREN.email], told[TOBIAS.email]

    assert "At planting the top layer held" in mine
    assert "Heron Flats" not in mine
    assert "Mill Bottom" not in other
    assert "call 811" in other


def test_a_letter_goes_out_even_where_the_order_cannot_be_made(rig, monkeypatch):
    def fails(computed, night):
        raise ValueError("no order")

    monkeypatch.setattr(weekly, "dig_list", fails)
    with letters(rig, date(YEAR, 6, 10)) as told, rig.service.engine.connect() as conn:
        assert len(told) == len(list_people(conn))
    assert "Dig these first" in told[INES.email]
