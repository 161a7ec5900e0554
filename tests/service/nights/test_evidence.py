"""The evidence of a note computes the note again, to the digit, from what it holds alone."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from rootbound_rules.season.cache import rules_fingerprint
from rootbound_service.errors import RefusedInput
from rootbound_service.nights.explain_again import compute_again
from rootbound_service.records import DigRecord, SoilRecord
from rootbound_service.store.kept_weather import load
from rootbound_service.weather.day import Block, Status
from service.nights.rig import DRY, YEAR, Rig, a_field, a_rig

FIRST, LAST = date(YEAR, 6, 30), date(YEAR, 7, 8)
NUMBERS = SoilRecord(
    field_capacity=0.27, wilting_point=0.12, clay_pct=18.0, organic_matter_pct=2.1,
    profile_depth_m=1.1,
)  # fmt: skip
PAN = DigRecord(date(YEAR, 6, 9), 1, plants=4, pan_class=2, pan_depth_cm=22.0, by="Ines Varga")


@pytest.fixture(scope="module")
def rig(tmp_path_factory):
    with a_rig(tmp_path_factory.mktemp("evidence"), DRY) as made:
        made.enrol(
            a_field("Long Acre"),
            a_field("Mill Bottom", soil=NUMBERS, digs=(PAN,), planted=date(YEAR, 5, 11)),
            a_field("Undug", digs=()),
        )
        made.nights(FIRST, LAST)
        yield made


def past_of(rig: Rig, evidence) -> bytes | None:
    with rig.service.engine.connect() as conn:
        return load(conn, evidence["past_fingerprint"])


def again(rig: Rig, evidence):
    return compute_again(evidence, past_of(rig, evidence))


def test_every_note_computes_again_to_the_digit_from_its_evidence(rig):
    notes = rig.notes()
    assert {note.evidence["status"] for note in notes} == {"watched", "unrated"}
    assert len(notes) > 5
    for note in notes:
        found = again(rig, note.evidence)

        assert found.differences == ()
        assert found.same_rules
        assert found.compared > 25
        decision = found.figures.decision
        assert (decision.rung, str(decision.reason)) == (note.to_rung, note.reason)


def test_nothing_but_evidence_and_past_is_needed_and_json_takes_nothing_from_them(rig):
    note = rig.notes()[-1]
    travelled = json.loads(json.dumps(note.evidence, allow_nan=False))

    assert compute_again(travelled, past_of(rig, note.evidence)).same


@pytest.mark.parametrize(
    ("change", "named"),
    [
        # one day's rain of this season
        (lambda told: told["weather"]["rain_mm"].__setitem__(178, 40.0), "assessment.water"),
        # a root more in the dig
        (lambda told: told["season"]["digs"][0].update(crossing=45), "assessment.reach"),
        # the draws
        (lambda told: told.update(seed=1), "assessment."),
        # what the ladder remembered
        (lambda told: told["before"].update(said_rung=4), "decision."),
        # a figure of the note itself
        (lambda told: told["assessment"].update(stress_season=0.5), "assessment.stress_season"),
    ],
)
def test_a_changed_input_is_found_and_what_it_changed_is_named(rig, change, named):
    note = next(one for one in rig.notes() if one.evidence["season"]["digs"] and one.to_rung == 2)
    told = deepcopy(note.evidence)
    change(told)

    found = again(rig, told)

    assert not found.same
    assert any(one.name.startswith(named) for one in found.differences)


def test_a_note_of_other_rules_says_so(rig):
    told = deepcopy(rig.notes()[0].evidence)
    assert told["rules"] == rules_fingerprint()
    told["rules"] = "0123456789abcdef"

    found = again(rig, told)

    assert not found.same_rules
    assert (found.rules_then, found.rules_now) == ("0123456789abcdef", rules_fingerprint())


def test_a_later_correction_of_the_weather_store_changes_nothing(rig):
    evidence = rig.notes()[0].evidence
    feed = rig.service.parts.feeds[evidence["cell"].partition(":")[0]]
    cell = feed.source.grid.from_key(evidence["cell"])
    wet = np.full((1, 1, 60), 50.0)
    final = np.full((1, 60), Status.FINAL, np.uint8)
    block = Block(feed.name, (cell,), date(YEAR, 5, 1), ("rain_mm",), wet, final)
    feed.store.write(block, None, LAST)

    assert again(rig, evidence).same


def test_the_fields_of_a_cell_share_one_past_over_all_nights(rig):
    named = {note.evidence["past_fingerprint"] for note in rig.notes()}

    assert len({note.season_id for note in rig.notes()}) == 3
    assert len({note.night for note in rig.notes()}) > 2
    assert len(named) == 1


def test_the_row_of_the_night_shows_what_the_evidence_holds(rig):
    note = [one for one in rig.notes() if one.season_id == rig.rows("Long Acre")[0].season_id][-1]
    row = next(row for row in rig.rows("Long Acre") if row.night == note.night)
    told = note.evidence["assessment"]

    assert row.water_in_reach_mm == told["water_in_reach_mm"]
    assert row.days_ahead_kind == told["ahead"]["kind"]
    assert (row.chance_7, row.chance_14) == (told["held"]["chance_7"], told["held"]["chance_14"])


def test_no_address_and_no_name_is_in_evidence(rig):
    told = json.dumps([note.evidence for note in rig.notes()])
    assert len(told) > 10_000
    assert "@" not in told
    assert not any(word in told for word in ("Maren", "Holt", "Ines", "Varga", "Tobias"))


def test_evidence_of_an_earlier_version_is_refused_in_a_sentence(rig):
    old = {k: v for k, v in rig.notes()[0].evidence.items() if k != "form"}

    with pytest.raises(RefusedInput, match="earlier version, which did not keep the past years"):
        compute_again(old, None)


def test_a_lost_or_foreign_past_is_refused_in_a_sentence(rig):
    evidence = rig.notes()[0].evidence
    packed = past_of(rig, evidence)

    with pytest.raises(RefusedInput, match=r"are not kept .*; restore the table kept_weather"):
        compute_again(evidence, None)
    with pytest.raises(RefusedInput, match="cannot be read"):
        compute_again(evidence, packed[:-40])
    other = replace(rig.notes()[0], evidence=evidence | {"past_fingerprint": "0" * 32})
    with pytest.raises(RefusedInput, match="are not those it was computed from"):
        compute_again(other.evidence, packed)


def test_evidence_with_a_part_cut_out_is_refused_in_a_sentence(rig):
    told = {k: v for k, v in rig.notes()[0].evidence.items() if k != "years"}

    with pytest.raises(RefusedInput, match=r"incomplete or was changed .*years"):
        again(rig, told)
