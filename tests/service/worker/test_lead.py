"""A worker waits its turn with a word in the log, and stops leading when its lead is lost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import ExitStack

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from structlog.testing import capture_logs

from rootbound_service.store.leading import leading
from rootbound_service.worker import lead as room
from rootbound_service.worker import schedule
from rootbound_service.worker.lead import hold, wait_for_lead
from rootbound_service.worker.months_tick import months_tick
from rootbound_service.worker.schedule import Job, one_worker, run_scheduler
from service.nights.rig import WET, a_rig

SOON = 0.01


class Told:
    """An event that is set after so many waits: nobody sleeps."""

    def __init__(self, waits: int) -> None:
        self._left = waits

    def is_set(self) -> bool:
        return self._left <= 0

    def wait(self, _seconds: float) -> bool:
        self._left -= 1
        return self.is_set()


class Held:
    """A lead that is lost after so many looks."""

    def __init__(self, looks: int) -> None:
        self._left, self.given_up = looks, False

    def holds(self) -> bool:
        self._left -= 1
        return self._left >= 0

    def give_up(self) -> None:
        self.given_up = True


class Lost:
    """A lead that is lost when it is said to be."""

    def __init__(self) -> None:
        self.lost = self.given_up = False

    def holds(self) -> bool:
        return not self.lost

    def give_up(self) -> None:
        self.given_up = True


class Steps(threading.Event):
    """An event whose first waits each do something instead: nobody sleeps."""

    def __init__(self, *steps: Callable[[], object]) -> None:
        super().__init__()
        self._steps = list(steps)

    def wait(self, timeout: float | None = None) -> bool:
        if self._steps:
            self._steps.pop(0)()
            return self.is_set()
        return super().wait(timeout)


@pytest.fixture
def taken(monkeypatch: pytest.MonkeyPatch) -> list[Lost]:
    """Leads given one after the other, and looked at soon."""
    given: list[Lost] = []

    def give(_engine: Engine) -> Lost:
        given.append(Lost())
        return given[-1]

    monkeypatch.setattr(room, "try_lead", give)
    monkeypatch.setattr(room.hold, "__defaults__", (SOON,))
    monkeypatch.setattr(schedule, "PAUSE_S", SOON)
    return given


def test_one_that_waits_says_so_once_and_gives_up_when_told(store: Engine) -> None:
    with leading(store), capture_logs() as logs:
        assert wait_for_lead(store, Told(3), SOON) is None

    assert [one["event"] for one in logs if one["event"] != "sqlite_rollback_journal"] == [
        "worker_waits"
    ]


def test_one_that_finds_nobody_leads_without_a_word(store: Engine) -> None:
    with capture_logs() as logs:
        lead = wait_for_lead(store, threading.Event(), SOON)

    assert lead is not None
    lead.give_up()
    assert logs == []


def test_a_database_that_does_not_answer_is_asked_again(
    store: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    real, asked = room.try_lead, []

    def away_once(engine: Engine) -> object:
        asked.append(engine)
        if len(asked) == 1:
            raise OperationalError("SELECT", {}, Exception("the server is starting up"))
        return real(engine)

    monkeypatch.setattr(room, "try_lead", away_once)
    with capture_logs() as logs:
        lead = wait_for_lead(store, Told(9), SOON)

    assert lead is not None
    lead.give_up()
    assert [one["event"] for one in logs] == ["worker_waits", "worker_takes_over"]
    assert "starting up" in logs[0]["why"]


def test_a_lead_is_held_until_told_or_until_it_is_lost() -> None:
    assert hold(Held(9), Told(3), SOON) is True
    with capture_logs() as logs:
        assert hold(Held(2), Told(9), SOON) is False
    assert [one["event"] for one in logs] == ["worker_lost_lead"]


def test_a_worker_that_lost_its_lead_stops_its_jobs_and_asks_for_it_again(
    tmp_path, taken: list[Lost]
) -> None:
    stop, ran = threading.Event(), []

    def tick(_service: object) -> None:
        ran.append(len(taken))
        taken[-1].lost = True
        if len(taken) == 2:
            stop.set()

    with a_rig(tmp_path, WET) as rig, capture_logs() as logs:
        run_scheduler(rig.service, stop, (Job("night", tick, 600, "compute"),))

    said = [one["event"] for one in logs if one["event"] != "worker_lost_lead"]
    assert ran == [1, 2]
    assert [one.given_up for one in taken] == [True, True]
    assert [one for one in said if one.startswith("worker_")] == [
        "worker_started", "worker_stopped", "worker_started", "worker_stopped",
    ]  # fmt: skip


def test_what_waits_behind_a_tick_is_not_begun_once_the_lead_is_lost(
    tmp_path, taken: list[Lost]
) -> None:
    stop, ran = threading.Event(), []

    def tick(_service: object) -> None:
        ran.append(len(taken))
        taken[0].lost = True  # as in a process that was stopped, and wakes
        if len(ran) == 3:
            stop.set()

    with a_rig(tmp_path, WET) as rig:
        run_scheduler(rig.service, stop, [Job(one, tick, 600, "compute") for one in ("a", "b")])

    assert ran == [1, 2, 2]


def test_one_that_takes_over_waits_until_the_one_before_lets_the_folder_go(tmp_path) -> None:
    with a_rig(tmp_path, WET) as rig, ExitStack() as lead, ExitStack() as folder:
        lead.enter_context(leading(rig.service.engine))
        folder.enter_context(one_worker(rig.service.settings.data_dir))
        stop = Steps(lead.close, lambda: None, folder.close)
        ran = []

        def tick(_service: object) -> None:
            ran.append("night")
            stop.set()

        with capture_logs() as logs:
            run_scheduler(rig.service, stop, (Job("night", tick, 600, "compute"),))

    said = [(one["event"], one.get("why", "")) for one in logs]
    waits = [why for event, why in said if event == "worker_waits"]
    assert ran == ["night"]
    assert [("leads this database" in why, "already runs on" in why) for why in waits] == [
        (True, False), (False, True),
    ]  # fmt: skip
    assert ("worker_takes_over", "") in said


def test_the_tick_of_the_months_has_nothing_to_do_on_sqlite(tmp_path) -> None:
    with a_rig(tmp_path, WET) as rig:
        assert months_tick(rig.service) == []
