"""Nights asked for on demand: each computed once, few at once, and nobody waits long."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from threading import Event, Thread

import pytest

from rootbound_service.clock import SetClock
from rootbound_service.errors import ServiceError
from rootbound_service.nights.again import Again, StoredNight
from rootbound_service.web.dressing import desk
from rootbound_service.web.dressing.desk import Dressing
from service.feeds.scene import a_field, a_row

NOW = datetime(2026, 7, 8, 15, tzinfo=UTC)
NIGHT = NOW.date()


def a_night(season: int = 1) -> StoredNight:
    row = a_row(NIGHT, 0, season_id=season)
    return StoredNight(a_field(), row, None, NOW)


class Computing:
    """Computes when it is let, and remembers what."""

    def __init__(self, kind="same") -> None:
        self.kind, self.go, self.begun = kind, Event(), Event()
        self.asked: list[int] = []
        self.kept: list[tuple[int, bytes]] = []

    def __call__(self, stored):
        self.asked.append(stored.row.season_id)
        self.begun.set()
        self.go.wait(30)
        if self.kind == "failed":
            raise ServiceError("the folder is gone")
        return Again(self.kind, b"days")

    def keep(self, stored, packed):
        self.kept.append((stored.row.season_id, packed))


@pytest.fixture
def computing():
    return Computing()


@pytest.fixture
def clock():
    return SetClock(NOW)


@pytest.fixture
def dress(computing, clock):
    made = []

    def begin(wait_s=30.0):
        made.append(Dressing(computing, computing.keep, lambda: None, clock, wait_s))
        return made[0]

    yield begin
    computing.go.set()
    for one in made:
        one.close(wait=True)


def test_two_that_open_a_field_at_once_have_it_computed_once(dress, computing):
    dressing, found = dress(), []
    both = [Thread(target=lambda: found.append(dressing.of(a_night()))) for _ in range(2)]
    for one in both:
        one.start()
    computing.begun.wait(30)
    computing.go.set()
    for one in both:
        one.join()
    dressing.of(a_night())
    dressing.close(wait=True)

    assert [(one.kind, one.packed) for one in found] == [("same", b"days")] * 2
    assert computing.asked == [1]
    assert computing.kept == [(1, b"days")]


def test_nobody_waits_longer_than_a_page_may_take(dress, computing):
    dressing = dress(wait_s=0.0)
    assert dressing.of(a_night()).kind == "coming"
    assert dressing.of(a_night()).kind == "coming"
    computing.go.set()
    dressing.close(wait=True)

    assert dressing.of(a_night()).kind == "same"
    assert computing.asked == [1]


def test_when_as_many_wait_as_may_the_next_one_does_not(dress, computing, monkeypatch):
    monkeypatch.setattr(desk, "WAITERS", 0)
    dressing = dress()
    assert dressing.of(a_night()).kind == "coming"
    computing.begun.wait(30)


def test_more_than_can_be_done_soon_are_left_for_the_next_look(dress, computing, monkeypatch):
    monkeypatch.setattr(desk, "QUEUE", 2)
    dressing = dress(wait_s=0.0)
    kinds = {dressing.of(a_night(season)).kind for season in (1, 2, 3)}
    computing.go.set()
    dressing.close(wait=True)

    assert kinds == {"coming"}
    assert computing.asked == [1, 2]


def test_what_came_out_otherwise_is_not_kept_in_the_store(dress, computing):
    computing.kind = "moved"
    computing.go.set()
    dressing = dress()
    assert dressing.of(a_night()).kind == "moved"
    dressing.close(wait=True)
    assert computing.kept == []


def test_a_failure_is_an_outcome_and_is_tried_again_after_a_while(dress, computing, clock):
    computing.kind = "failed"
    computing.go.set()
    dressing = dress()
    assert [dressing.of(a_night()).kind for _ in range(2)] == ["failed"] * 2
    assert computing.asked == [1]

    clock.set(NOW + desk.AGAIN_AFTER)
    computing.kind = "same"
    assert dressing.of(a_night()).kind == "same"


def test_a_store_that_cannot_be_written_costs_nothing_but_the_keeping(dress, computing):
    def full(stored, packed):
        raise OSError("no space left")

    computing.keep, computing.go = full, Event()
    computing.go.set()
    dressing = dress()
    assert dressing.of(a_night()).packed == b"days"
    dressing.close(wait=True)


def test_only_so_many_are_remembered(dress, computing, monkeypatch):
    monkeypatch.setattr(desk, "KEPT", 2)
    computing.go.set()
    dressing = dress()
    for season in (1, 2, 3, 1):
        dressing.of(a_night(season))
    assert computing.asked == [1, 2, 3, 1]


def test_another_run_of_the_night_is_another_night(dress, computing):
    computing.go.set()
    dressing = dress()
    for hours in (0, 3):
        dressing.of(replace(a_night(), moment=NOW + timedelta(hours=hours)))
    assert computing.asked == [1, 1]


def test_nothing_is_begun_after_the_end(dress, computing):
    dressing = dress()
    dressing.close()
    assert dressing.of(a_night()).kind == "coming"
    assert computing.asked == []
