"""Where a field stands before and without an outlook."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace

import pytest

from rootbound_rules.errors import RulesError
from rootbound_service.nightly import decide_all
from rootbound_service.nights import compute as room
from rootbound_service.nights import one as by_itself
from rootbound_service.nights.compute import compute
from rootbound_service.nights.gather import gather
from rootbound_service.records import ObservationRecord
from service.nights.rig import DRY, SUMMER, a_field, a_rig

NOON = datetime.combine(SUMMER, datetime.min.time(), UTC)


def harvest(day):
    return ObservationRecord("harvest", day, None, "Maren Holt", NOON, id=1)


def no_outlook(*_args, **_kwargs):
    raise AssertionError("computed although the crop is off")


@pytest.mark.parametrize("known", [SUMMER - timedelta(days=3), SUMMER - timedelta(days=60), None])
def test_a_harvested_field_is_finished_without_an_outlook_whatever_the_weather(monkeypatch, known):
    monkeypatch.setattr(room, "_compute", no_outlook)
    cell = SimpleNamespace(known_through=known, patched=None)
    one = compute(a_field("Long Acre", observations=(harvest(SUMMER),)), cell, SUMMER, 10, None)

    assert (one.status, one.outlook, one.failure) == ("finished", None, None)
    assert one.observed.harvested == SUMMER


def test_a_harvest_of_a_later_day_does_not_count_yet(monkeypatch):
    monkeypatch.setattr(room, "_compute", no_outlook)
    cell = SimpleNamespace(known_through=SUMMER - timedelta(days=60))
    field = a_field("Long Acre", observations=(harvest(SUMMER + timedelta(days=1)),))

    assert compute(field, cell, SUMMER, 10, None).status == "unknown"


@pytest.mark.parametrize("error", [ZeroDivisionError("by nought"), RulesError("no such soil")])
def test_a_field_that_fails_keeps_its_cell_so_that_its_row_says_how_old_the_weather_is(
    tmp_path, monkeypatch, error
):
    def broken(*_args, **_kwargs):
        raise error

    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"))
        rig.bring(SUMMER)
        gathered = gather(rig.service.parts, SUMMER, pull=False)
    monkeypatch.setattr(room, "look_out", broken)
    (one,) = decide_all(gathered, 10)

    assert (one.risk.status, one.risk.reason) == ("unknown", "could_not_be_computed")
    assert one.risk.weather_through == SUMMER - timedelta(days=3)
    assert str(error) in one.computed.failure


def test_deciding_that_fails_is_a_failure_of_that_field_alone(tmp_path, monkeypatch):
    real = by_itself.decide

    def once(computed, before, night):
        if computed.failure is None and computed.field.name == "Long Acre":
            raise ValueError("no such rung")
        return real(computed, before, night)

    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(a_field("Long Acre"), a_field("Far Corner"))
        rig.bring(SUMMER)
        gathered = gather(rig.service.parts, SUMMER, pull=False)
    monkeypatch.setattr(by_itself, "decide", once)
    one, other = decide_all(gathered, 10)

    assert (one.risk.status, one.risk.weather_through) == ("unknown", date(2026, 7, 3))
    assert other.risk.status == "watched"
