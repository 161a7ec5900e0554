"""A night has one run, a job's period one taker."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine

from rootbound_service.clock import SetClock
from rootbound_service.errors import ServiceError
from rootbound_service.store.runs import (
    RunRecord,
    claim_period,
    finish_run,
    finished_at,
    last_run,
    run_of,
    start_run,
)

NIGHT = date(2026, 7, 14)


def test_before_the_first_run_there_is_none(store: Engine) -> None:
    with store.connect() as conn:
        assert last_run(conn) is None


def test_a_run_is_told_from_start_to_finish(store: Engine, clock: SetClock) -> None:
    began = clock.now()
    with store.begin() as conn:
        start_run(conn, NIGHT, began)
        running = last_run(conn)
        clock.set(began + timedelta(minutes=3))
        finish_run(conn, NIGHT, clock.now(), 41, 1, "2 cells pulled")
        done = last_run(conn)

    assert running == RunRecord(NIGHT, began, None, 0, 0, "")
    assert done == RunRecord(NIGHT, began, clock.now(), 41, 1, "2 cells pulled", clock.now())


def test_a_run_begins_only_over_what_it_saw(store: Engine, clock: SetClock) -> None:
    later = clock.now() + timedelta(hours=1)
    with store.begin() as conn:
        assert start_run(conn, NIGHT, clock.now(), None)
        finish_run(conn, NIGHT, clock.now(), 41, 1, "came first")
        first = run_of(conn, NIGHT)
        assert not start_run(conn, NIGHT, later, None)
        assert not start_run(conn, NIGHT, later, clock.now() - timedelta(seconds=1))
        assert run_of(conn, NIGHT) == first
        assert finished_at(conn, NIGHT) == clock.now()
        assert start_run(conn, NIGHT, later, clock.now())

    with store.connect() as conn:
        assert finished_at(conn, NIGHT) is None


def test_the_last_good_run_is_not_the_one_cut_off(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn:
        start_run(conn, NIGHT, clock.now())
        finish_run(conn, NIGHT, clock.now(), 41, 1, "")
        start_run(conn, NIGHT + timedelta(days=1), clock.now())
        last, good = last_run(conn), last_run(conn, finished_only=True)

    assert last is not None
    assert good is not None
    assert (last.night.day, good.night.day) == (15, 14)


def test_the_run_of_one_night_is_found_among_others(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn:
        for day in range(3):
            start_run(conn, NIGHT + timedelta(days=day), clock.now())
        finish_run(conn, NIGHT, clock.now(), 41, 1, "")
        found, never = run_of(conn, NIGHT), run_of(conn, NIGHT - timedelta(days=1))

    assert found == RunRecord(NIGHT, clock.now(), clock.now(), 41, 1, "", clock.now())
    assert never is None


def test_a_night_run_again_begins_anew(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn:
        start_run(conn, NIGHT, clock.now())
        first = clock.now()
        finish_run(conn, NIGHT, first, 41, 1, "")
        clock.set(first + timedelta(hours=1))
        start_run(conn, NIGHT, clock.now())

        assert last_run(conn) == RunRecord(NIGHT, clock.now(), None, 0, 0, "", first)


def test_when_a_night_was_first_done_stays_when_it_is_run_again(
    store: Engine, clock: SetClock
) -> None:
    first, again = clock.now(), clock.now() + timedelta(hours=2)
    with store.begin() as conn:
        start_run(conn, NIGHT, first)
        cut_off = last_run(conn)
        finish_run(conn, NIGHT, first, 41, 1, "")
        start_run(conn, NIGHT, again)
        finish_run(conn, NIGHT, again, 42, 0, "")
        done = last_run(conn)

    assert cut_off is not None
    assert cut_off.first_finished_at is None
    assert done is not None
    assert (done.finished_at, done.first_finished_at) == (again, first)


def test_a_run_never_started_cannot_finish(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn, pytest.raises(ServiceError, match="2026-07-14 was never started"):
        finish_run(conn, NIGHT, clock.now(), 41, 1, "")


def test_a_period_is_taken_on_once(store: Engine, clock: SetClock) -> None:
    with store.begin() as conn:
        assert claim_period(conn, "digest", "3 2026-W29", clock.now()) is True
        assert claim_period(conn, "digest", "3 2026-W29", clock.now()) is False
        assert claim_period(conn, "digest", "3 2026-W30", clock.now()) is True
        assert claim_period(conn, "nightly", "3 2026-W29", clock.now()) is True


def test_a_period_whose_work_failed_may_be_taken_on_again(store: Engine, clock: SetClock) -> None:
    with store.connect() as conn:
        claim_period(conn, "digest", "3 2026-W29", clock.now())
        conn.rollback()
    with store.begin() as conn:
        assert claim_period(conn, "digest", "3 2026-W29", clock.now()) is True
