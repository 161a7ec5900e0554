"""What the worker does about weather beside its nights: past years, and asking again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from rootbound_service.worker import weather_ticks
from rootbound_service.worker.ticks import night_tick
from rootbound_service.worker.weather_ticks import again_tick, past_tick
from service.nights.rig import DRY, NORTH, OPERATOR, YEAR, a_field, a_rig, seasons

NIGHT = date(YEAR, 6, 15)
DAY = timedelta(days=1)
LONG = seasons(None, NIGHT, years=12)
"""Twelve past years, of which an outlook needs ten."""


@pytest.fixture
def rig(tmp_path):
    with a_rig(tmp_path, LONG, ROOTBOUND_HISTORY_YEARS="12") as made:
        made.enrol(a_field("Long Acre"))
        yield made


@pytest.fixture
def two(tmp_path):
    """Two fields in two cells, and a night that brought their weather."""
    with a_rig(tmp_path, DRY) as made:
        made.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        made.bring(NIGHT - 2 * DAY)
        made.at(NIGHT - DAY)
        night_tick(made.service)
        yield made


def at(rig, day, hour, minute=0):
    rig.at(day, time(hour, minute))
    return rig.service


def asked(rig):
    """Days asked for since last time."""
    found = [(query["start"], query["end"]) for query in rig.sky.queries]
    rig.sky.queries.clear()
    return found


def test_the_past_comes_piece_by_piece_and_there_is_no_outlook_yet_meanwhile(rig, monkeypatch):
    monkeypatch.setattr(weather_ticks, "AT_ONCE", 1)
    reports, lefts = [night_tick(at(rig, NIGHT, 9))], []
    assert asked(rig) == [("20260127", "20260614")]  # the season, and the spin-up before it
    while not lefts or lefts[-1]:
        lefts.append(past_tick(rig.service))
        assert len(asked(rig)) == 1
    reports.append(night_tick(at(rig, NIGHT + DAY, 9)))

    assert lefts == [1, 1, 1, 0]
    first, second = rig.rows("Long Acre")
    assert (first.status, first.reason) == ("unknown", "no_outlook")
    assert reports[0].failures == (
        "Long Acre: its weather cell has no past year so far and needs 10: no outlook yet",
    )
    assert (second.status, reports[1].failures) == ("watched", ())


def test_a_past_that_is_whole_is_not_asked_for_again(two):
    asked(two)

    assert past_tick(at(two, NIGHT, 8)) == 0
    assert asked(two) == []


def test_without_fields_nothing_is_asked_and_a_new_one_needs_no_night_for_its_weather(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        assert past_tick(at(rig, NIGHT, 8)) == 0
        assert asked(rig) == []
        rig.enrol(a_field("Long Acre"))
        assert past_tick(rig.service) == 0
        assert asked(rig)[0] == ("20260127", "20260613")  # the season first, then past years
        night_tick(at(rig, NIGHT, 9))
        assert rig.row("Long Acre").status == "watched"


def test_a_service_that_gives_no_past_year_is_left_alone_for_the_rest_of_the_hour(rig):
    night_tick(at(rig, NIGHT, 9))
    asked(rig)
    tried = []
    for hour, minute in ((9, 30), (9, 32), (9, 58), (10, 0), (10, 2)):
        rig.sky.faults.clear()
        rig.sky.faults.extend(["500"] * 20)
        assert past_tick(at(rig, NIGHT, hour, minute)) == 1
        tried.append(len(asked(rig)))
    rig.sky.faults.clear()

    assert tried == [1, 0, 0, 1, 0]
    assert past_tick(at(rig, NIGHT, 11)) == 0


def test_a_cell_without_past_years_does_not_keep_the_others_waiting(tmp_path, monkeypatch):
    monkeypatch.setattr(weather_ticks, "AT_ONCE", 2)
    with a_rig(tmp_path, LONG, ROOTBOUND_HISTORY_YEARS="12") as rig:
        rig.enrol(a_field("Long Acre"), a_field("Far", NORTH))
        night_tick(at(rig, NIGHT, 9))
        lefts = []
        for _ in range(5):
            rig.sky.faults.extend(["500"])
            lefts.append(past_tick(rig.service))
            rig.sky.faults.clear()

    assert lefts[0] == 2
    assert lefts[-1] == 1


def test_a_night_that_lacked_weather_is_run_again_after_two_four_and_eight_hours_each_once(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))
    ran = []
    for minutes in range(0, 15 * 60, 10):
        hour, minute = divmod(9 * 60 + minutes, 60)
        two.sky.faults.clear()
        two.sky.faults.extend(["500", ""])
        asked(two)
        if again_tick(at(two, NIGHT, hour, minute)) is not None:
            ran.append((hour, minute))
            assert len(asked(two)) == 2
        else:
            assert asked(two) == []

    assert ran == [(11, 0), (13, 0), (17, 0)]
    assert [row.night for row in two.rows("Long Acre")] == [NIGHT - DAY, NIGHT]


def test_once_the_weather_has_come_nothing_is_run_again(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))
    before = two.row("Long Acre").weather_through
    report = again_tick(at(two, NIGHT, 11))

    assert (report.night, report.failures) == (NIGHT, ())
    assert two.row("Long Acre").weather_through == before + DAY
    assert [again_tick(at(two, NIGHT, hour)) for hour in (12, 13, 17, 23)] == [None] * 4


def test_a_night_that_went_well_is_not_run_again(two):
    night_tick(at(two, NIGHT, 9))

    assert [again_tick(at(two, NIGHT, hour)) for hour in (11, 13, 17)] == [None] * 3


def test_a_worker_that_was_down_meanwhile_runs_it_again_once_and_not_thrice(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))
    two.sky.faults.extend(["500", "", "500", ""])

    assert again_tick(at(two, NIGHT, 18)) is not None
    assert again_tick(at(two, NIGHT, 18, 10)) is None
    assert again_tick(at(two, NIGHT + DAY, 8, 50)) is None


def test_one_that_a_worker_left_when_it_was_to_end_is_run_again_by_the_next(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))

    assert again_tick(replace(at(two, NIGHT, 11), leaving=lambda: True)) is None
    assert again_tick(at(two, NIGHT, 11, 10)).night == NIGHT
    assert again_tick(at(two, NIGHT, 11, 20)) is None


def test_yesterdays_lack_is_nothing_to_run_tonight_again_for(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))

    assert again_tick(at(two, NIGHT + DAY, 11)) is None  # tonight itself was not run yet


def test_the_operator_hears_the_same_trouble_once_however_often_the_night_is_run(two):
    two.sky.faults.extend(["500", ""])
    night_tick(at(two, NIGHT, 9))
    two.send()
    two.sky.faults.extend(["500", ""])
    again_tick(at(two, NIGHT, 11))
    two.send()

    assert len(two.subjects(OPERATOR)) == 1
