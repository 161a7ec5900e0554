"""Evidence gives back what people saw and what was forecast, as the night computed with them."""

from __future__ import annotations

import json
from copy import deepcopy
from dataclasses import asdict
from datetime import UTC, date, datetime

import numpy as np
import pytest

from rootbound_rules.season.belief import Report
from rootbound_rules.season.coming import ComingDays
from rootbound_service.nights.evidence import said_of
from rootbound_service.nights.explain_again import compute_again
from rootbound_service.nights.explain_inputs import inputs_of
from rootbound_service.nights.plain import plain
from rootbound_service.records import DigRecord, ObservationRecord
from rootbound_service.store.kept_weather import load
from service.nights.rig import DRY, YEAR, a_field, a_rig

FIRST, LAST = date(YEAR, 6, 30), date(YEAR, 7, 2)
NOON = datetime(YEAR, 6, 28, 17, 5, tzinfo=UTC)


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A note's evidence, and the past years kept with it."""
    with a_rig(tmp_path_factory.mktemp("inputs"), DRY) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.nights(FIRST, LAST)
        evidence = rig.notes()[0].evidence
        with rig.service.engine.connect() as conn:
            yield evidence, load(conn, evidence["past_fingerprint"])


def seen(kind: str, day: date, value: float, number: int, by: str = "Ada Quill"):
    return ObservationRecord(kind, day, value, by, NOON, note="by the gate", id=number)


def test_people_are_numbers_and_their_words_stay_out():
    field = a_field(
        "Long Acre",
        digs=(DigRecord(date(YEAR, 5, 28), 2, by="ada@quill.example", note="call 555", id=3),),
        observations=(
            seen("rain", date(YEAR, 6, 27), 14.0, 7, "Ben Marsh"),
            seen("irrigation", date(YEAR, 6, 28), 20.0, 8, "ADA@quill.example"),
            seen("rain", LAST, 9.0, 9),
        ),
    )
    told = said_of(field, date(YEAR, 7, 1))

    assert told["digs"] == [
        {"id": 3, "dug_on": "2026-05-28", "by": 1, "recorded_at": None},
    ]
    assert [(one["id"], one["by"]) for one in told["observations"]] == [(7, 2), (8, 1)]
    assert told["observations"][0]["recorded_at"] == "2026-06-28T17:05:00+00:00"
    words = json.dumps(told)
    assert not any(word in words for word in ("@", "quill", "Marsh", "gate", "555"))


def test_what_people_saw_counts_when_a_note_is_computed_again(kept):
    evidence, packed = kept
    told = deepcopy(evidence)
    field = a_field(
        "Long Acre",
        observations=(
            seen("rain", date(YEAR, 6, 27), 55.0, 1),
            seen("irrigation", date(YEAR, 6, 26), 20.0, 2),
        ),
    )
    told["said"] = said_of(field, date.fromisoformat(evidence["night"]))

    found = compute_again(told, packed)

    assert found.inputs.observed.rain_mm == {date(YEAR, 6, 27): 55.0}
    assert found.inputs.observed.irrigation_mm == {date(YEAR, 6, 26): 20.0}
    wetter = found.figures.assessment.free_water_mm
    assert wetter > evidence["assessment"]["free_water_mm"] + 20.0


def test_reports_of_leaves_choose_the_members_again(kept):
    evidence, packed = kept
    told = deepcopy(evidence)
    day = date.fromisoformat(evidence["known_through"])
    field = a_field("Long Acre", observations=(seen("rolled", day, 1.0, 4),))
    told["said"] = said_of(field, date.fromisoformat(evidence["night"]))

    found, twice = compute_again(told, packed), compute_again(told, packed)

    belief = found.figures.belief
    assert belief is not None
    assert [one.report for one in belief.used] == [Report(day, rolled=True)]
    assert not found.same
    assert asdict(found.figures.assessment.held) == asdict(twice.figures.assessment.held)


def test_forecast_days_come_back_to_the_digit(kept):
    evidence, packed = kept
    chance = np.random.default_rng(3)
    arrays = {name: chance.gamma(1.0, 3.0, (4, 9)) for name in ("rain_mm", "et0_mm", "gdd_f")}
    start = date.fromisoformat(evidence["known_through"]).replace(day=29)
    coming = ComingDays(start, climate=chance.normal(0, 0.02, (4, 9)), **arrays)
    told = json.loads(json.dumps(evidence | {"coming": plain(asdict(coming))}))

    found = inputs_of(told, packed).coming

    assert found is not None
    assert (found.start, found.traces, found.days) == (start, 4, 9)
    for name in ("rain_mm", "et0_mm", "gdd_f", "climate"):
        assert np.array_equal(getattr(found, name), getattr(coming, name))


def test_forecast_days_change_what_comes_out(kept):
    evidence, packed = kept
    known = date.fromisoformat(evidence["known_through"])
    wet = np.full((1, 6), 30.0)
    start = date.fromordinal(known.toordinal() + 1)
    coming = ComingDays(start, wet, wet / 10.0, wet, wet * 0.0)

    found = compute_again(evidence | {"coming": plain(asdict(coming))}, packed)

    assert found.figures.assessment.held.chance_14 < evidence["assessment"]["held"]["chance_14"]


def test_numbers_without_end_pass_through_json():
    told = json.dumps(plain({"a": (float("inf"), -float("inf"), float("nan"), 0.1 + 0.2)}))

    assert told == '{"a": ["inf", "-inf", "nan", 0.30000000000000004]}'
