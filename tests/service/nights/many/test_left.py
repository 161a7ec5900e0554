"""A worker that is to end leaves a night between two chunks, and the next goes on with it."""

from __future__ import annotations

import json
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from threading import Event

import pytest
from structlog.testing import capture_logs

from rootbound_service.nights.many import slices
from rootbound_service.nights.many.job import NightJob
from rootbound_service.nights.many.left import (
    FILE,
    GOES_ON,
    asked_before,
    forget_asked,
    is_left,
    name_of,
    note_asked,
)
from rootbound_service.store.runs import last_run
from rootbound_service.sweep.run import Cancelled
from rootbound_service.wiring import plant
from rootbound_service.worker.schedule import Job, run_scheduler
from rootbound_service.worker.ticks import night_tick
from rootbound_service.worker.weather_ticks import past_tick
from service.nights.rig import DRY, NORTH, OPERATOR, SOUTH, YEAR, a_field, a_rig

NIGHT = date(YEAR, 7, 8)
NOW = datetime(YEAR, 7, 8, 9, 30, tzinfo=UTC)
MANY = {"ROOTBOUND_SWEEP_FROM_FIELDS": "0", "ROOTBOUND_SWEEP_WORKERS": "1"}
FAR = (43.1, -93.2)
"""A place whose past years nobody has asked for yet."""
NAMES = tuple(f"Field {k}" for k in range(10))


class Worker:
    """A worker whose chunks are computed here; told to end after so many, if any."""

    def __init__(self, rig) -> None:
        self.rig, self.stop, self.left = rig, Event(), None
        self.done: list[int] = []
        self.logs: list[str] = []

    def run(self, work, numbers):
        for number in numbers:
            work(number)
            if isinstance(work.job, NightJob):  # letters are written the same way
                self.done.append(number)
                if len(self.done) == self.left:
                    self.stop.set()
                    until(self.service.leaving)
            yield number

    def night(self, left=None):
        """Let a worker run until its night is over, or left after so many chunks."""
        self.left, self.done = left, []
        self.stop.clear()

        def tick(service):
            self.service = service
            try:
                return night_tick(service)
            finally:
                self.stop.set()

        with capture_logs() as logs:
            run_scheduler(self.rig.service, self.stop, (Job("night", tick, 600, "compute"),))
        self.logs = [one["event"] for one in logs]
        return self.done

    def finished(self):
        with self.rig.service.engine.connect() as conn:
            return last_run(conn, finished_only=True)


def until(holds):
    """Wait for something that another thread does, a minute at the most."""
    for _ in range(6000):
        if holds():
            return
        Event().wait(0.01)
    raise AssertionError


def some_fields():
    return [a_field(name, (SOUTH, NORTH)[k % 2]) for k, name in enumerate(NAMES)]


@contextmanager
def a_worker(tmp_path, monkeypatch, **settings):
    """Ten fields in two cells, four to a chunk, on a night whose weather is still to come."""
    with a_rig(tmp_path, DRY, **MANY, **settings) as rig:
        monkeypatch.setattr(slices, "FIELDS", 4)
        rig.enrol(*some_fields())
        rig.bring(NIGHT - timedelta(days=1))
        rig.at(NIGHT)
        made = Worker(rig)
        monkeypatch.setattr(plant, "executor_of", lambda _: made)
        yield made


@pytest.fixture
def worker(tmp_path, monkeypatch):
    with a_worker(tmp_path, monkeypatch) as made:
        yield made


@pytest.mark.parametrize("store", [{}, {"ROOTBOUND_WEATHER_STORE": "memory://left"}])
def test_a_night_left_after_a_chunk_is_gone_on_with_and_nobody_asked_again(
    tmp_path, monkeypatch, store
):
    with a_worker(tmp_path, monkeypatch, **store) as worker:
        goes_on(worker)


def goes_on(worker):
    assert worker.night(left=1) == [0]
    assert {"night_left", "worker_stopped"} <= set(worker.logs)
    assert "tick_failed" not in worker.logs
    assert worker.finished() is None
    assert worker.rig.outbox()["pending"] == 0  # no word of a night that broke off
    asked = len(worker.rig.sky.queries)

    worker.rig.at(NIGHT, NOW.time().replace(hour=11))
    assert worker.night() == [1, 2]
    assert "night_goes_on" in worker.logs
    assert len(worker.rig.sky.queries) == asked > 0
    assert worker.finished().night == NIGHT
    assert worker.finished().fields_ok == len(NAMES)
    assert not (worker.rig.service.settings.data_dir / FILE).exists()


def test_past_years_wait_until_a_night_that_was_left_is_over(tmp_path, monkeypatch):
    with a_worker(tmp_path, monkeypatch) as worker:
        worker.rig.enrol(a_field("New", FAR))
        assert worker.night(left=1) == [0]
        asked = len(worker.rig.sky.queries)
        assert past_tick(worker.rig.service) == 1
        assert len(worker.rig.sky.queries) == asked

        assert worker.night() == [1, 2]
        past_tick(worker.rig.service)
        assert len(worker.rig.sky.queries) > asked


def test_weather_that_has_changed_meanwhile_makes_every_part_anew(worker):
    worker.night(left=2)
    (worker.rig.service.settings.data_dir / "weather" / "changed").touch()
    assert worker.night(left=2) == [0, 1]


def test_a_usual_night_is_left_after_a_field_and_recorded_by_the_next_worker(tmp_path):
    with a_rig(tmp_path, DRY) as rig:
        rig.enrol(*some_fields()[:3])
        rig.bring(NIGHT)
        done = []
        leaving = replace(rig.service, leaving=lambda: len(done) == 2)
        with pytest.raises(Cancelled, match="2 of 3 fields"):
            leaving.nightly(NIGHT, lambda *now: done.append(now))
        with capture_logs() as logs:
            assert night_tick(replace(rig.service, leaving=lambda: True)) is None
        assert [one["event"] for one in logs if one["event"].startswith("night")] == ["night_left"]
        assert rig.rows(NAMES[0]) == []
        assert night_tick(rig.service).fields_ok == 3
        assert rig.subjects(OPERATOR) == []


def test_what_waits_behind_is_not_begun_any_more(worker):
    stop, ran = Event(), []

    def first(service):
        ran.append("first")
        stop.set()
        until(service.leaving)

    jobs = (Job("a", first, 600, "lane"), Job("b", lambda _: ran.append("b"), 600, "lane"))
    run_scheduler(worker.rig.service, stop, jobs)

    assert ran == ["first"]


def test_what_was_asked_counts_for_the_same_night_places_and_hours_only(tmp_path):
    came = {"troubles": {"one": "was not there"}, "told": ["a sentence"], "missed": True}
    note_asked(tmp_path, "a night", NOW, came)

    assert asked_before(tmp_path, "a night", NOW + GOES_ON) == came
    assert is_left(tmp_path, "a", NOW)
    assert not is_left(tmp_path, "another", NOW)
    assert not is_left(tmp_path, "a", NOW + GOES_ON + timedelta(seconds=1))
    assert asked_before(tmp_path, "another", NOW) is None
    assert asked_before(tmp_path, "a night", NOW + GOES_ON + timedelta(seconds=1)) is None
    assert asked_before(tmp_path, "a night", NOW - timedelta(seconds=1)) is None  # set back
    forget_asked(tmp_path)
    assert asked_before(tmp_path, "a night", NOW) is None


@pytest.mark.parametrize("spoiled", ["", "[]", "{}", json.dumps({"name": "n", "at": 3, "came": 4})])
def test_a_note_that_cannot_be_read_is_as_none(tmp_path, spoiled):
    (tmp_path / FILE).write_text(spoiled, encoding="utf-8")

    assert asked_before(tmp_path, "n", NOW) is None


def test_another_night_other_places_and_past_years_are_other_questions(worker):
    places = slices.due_fields(worker.rig.service.parts, NIGHT).growing
    names = [
        name_of(NIGHT, places, past=False),
        name_of(NIGHT, places[::-1], past=False),
        name_of(NIGHT, places, past=True),
        name_of(NIGHT, places[:1], past=False),
        name_of(NIGHT + timedelta(days=1), places, past=False),
    ]

    assert len(places) == 2
    assert names[0] == names[1]
    assert len(set(names)) == 4
